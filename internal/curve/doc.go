// Package curve finds out what a resistive level sender does: from bench
// readings (mark against ohms) to a monotone curve, its errors in the terms of
// IEC 61298-2, and an answer of its own for anything outside the readings.
//
// Readings are pooled by mark, with the sweeps kept apart; where noise breaks
// the order it is restored by weighted isotonic regression; between marks runs
// a monotone piecewise cubic. Rising and falling senders are the same code.
//
// Marks are SI inside: a dial is a share 0..1, a float height metres, a
// quantity poured cubic metres or kilograms. A [Sheet] says which.
//
// The electrical side is ohms unless the Sheet's [Signal] says volts, milliamps
// or percent of the supply. Its number then stands where the ohms do.
//
// Bad input that a person typed gives an error; values outside the readings
// give an answer marked Outside, never a silent extrapolation; nothing here
// returns NaN where a number was promised.
package curve
