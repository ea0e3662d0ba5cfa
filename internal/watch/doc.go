// Package watch follows one tank through time: readings in, in the order in
// which they were taken or nearly so, and out of each a level with its doubt,
// its age and, where it can't be believed, the reason.
//
// Time is the readings' own time. Nothing here reads a clock, waits, starts a
// goroutine or touches a disk, so a recording of a year gives the same levels
// as the year did.
package watch
