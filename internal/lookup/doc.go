// Package lookup makes tables for a microcontroller: counts of its converter in,
// the level out, in whole steps and with integer arithmetic alone.
//
// A table follows a gauge (a sender's curve on a scale) as it is seen through an
// input. It is either one entry for every so many counts, or a few points with
// straight lines between them, put where the worst error over all counts is least.
// Every count the converter can give is then tried against the curve, so the
// error told is the largest there is.
//
// What can't be a level is told as such and never as a figure: a count of an open
// wire or a short, and one that lies beyond the readings, gives [NoLevel].
//
// The same table is written as CSV, JSON, a C header and a MicroPython module,
// which all give the figures of [Table.Level].
package lookup
