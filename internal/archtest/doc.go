// Package archtest holds the source to the plan of the house: which package
// may import which, what may come from outside, and a few rules on names,
// comments and clocks that a compiler doesn't keep.
//
// It has tests only. The plan itself is the table in house_test.go; a change
// to it is a change to the design and is made there on purpose, not to quiet a
// test.
package archtest
