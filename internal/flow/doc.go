// Package flow tells from the levels of a tank what came in and what went out:
// refills, drains, use, leaks, sudden drops, and what looks like them and isn't.
//
// It goes by the levels' own times and reads no clock, so a recording gives what the
// days gave.
package flow
