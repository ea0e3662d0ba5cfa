// Package span chooses the numbers to key into whatever reads a sender, and
// proves the choice: the two end values or the table that make the worst error
// at the readings least, with a lower bound that no other choice can beat, and
// the verdict on readings taken afterwards.
//
// A display with end values L and U shows 100·(R−L)/(U−L) percent, held to
// 0..100. A display with a table shows the straight line between its entries,
// held at both ends. The target at each mark comes from a scale.
package span
