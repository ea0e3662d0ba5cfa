// Package simulated is a bench meter that isn't there: it speaks SCPI over a
// socket, or sends a number per line, and measures whatever ohms it is told.
// The demonstration has it on its bench, and tests have it in place of a meter.
//
// It keeps to IEEE 488.2 and SCPI-99 where a bench meets them: long and short
// headers in any case, several messages between semicolons, the commands that
// 488.2 requires of every instrument, an error queue with the standard's
// numbers, a query that is interrupted by the next, +9.9E37 for an overload. It
// can be told to misbehave as meters and cables do.
//
// It computes only: nothing but its own socket and the clock it is given.
package simulated
