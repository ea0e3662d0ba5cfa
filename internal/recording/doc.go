// Package recording reads and writes histories: what a sender said over hours to
// years, as CSV, a time and a value in each line.
//
// The first row names the columns: time, one of ohm, volt, milliamp,
// of_supply_pct, count and level_pct, and if they are there pitch_deg, roll_deg,
// source and tank. Others are ignored and named once, since a history often
// carries more than is needed.
//
// A [Reader] takes a file apart row by row in the order of the file, a [History]
// gives its readings in the order of their times and sets aside those whose
// clock was wrong. Both hold a bounded part of the file, however long it is, and
// neither looks at this machine's clock. What isn't a row is counted and named by
// its line, and the rest goes on.
//
// Spreadsheets and programs write such files in many ways: commas, semicolons or
// tabs, decimal commas, quotes, line ends of every kind, a byte order mark,
// UTF-16, blank lines and comments that begin with #. All are read.
package recording
