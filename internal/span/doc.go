// Package span chooses the numbers to key into whatever reads a sender, and
// proves the choice: the two end values, the table, or both one after the
// other, that an [Objective] likes best at the readings, with a lower bound that
// no other choice can beat; what any setting would show and why; and the verdict
// on readings taken afterwards.
//
// A display with end values L and U shows 100·(R−L)/(U−L) percent, held to
// 0..100. A display with a table shows the straight line between its entries,
// held at both ends. The target at each mark comes from a scale.
//
// What a person asked for and can't be had gives a *NoChoiceError, which names
// the nearest that can. Searches count their work and not the time, so the same
// readings give the same numbers on any machine.
package span
