// Package readings reads and writes the files of the bench: readings of a
// sender ([Read], [Write], [Appender]) and what a readout showed when it was
// checked after setting ([ReadShown]).
//
// A file is CSV as RFC 4180 has it. Its first row names the columns with their
// units:
//
//	mark_pct | mark_mm | mark_l | mark_kg   the true position; exactly one of them
//	ohm                                     the resistance at that mark; or in its place
//	volt | milliamp | of_supply_pct         the voltage, the current, or the percent of the supply
//	sweep                                   up, down or nothing; may be left out
//	time                                    RFC 3339; may be left out
//	note                                    free text; may be left out
//
// A check has shown_pct in place of it, and of the others only note. Names are
// read in any case and with blanks around them, columns in any order. A line
// whose first sign is # is a comment and may stand anywhere between rows; blank
// lines, and rows of nothing but separators, are passed over.
//
// What spreadsheets make of such a file is read too: commas, semicolons or tabs
// as separators, decimal commas, line ends of every kind, a byte order mark,
// UTF-16 with its mark, and Windows-1252 where the bytes are not UTF-8. What is
// written is always the plain form: UTF-8, comma, decimal point, LF.
//
// Everything wrong with the content of a file is an [*Error] with its place;
// up to five of them come joined, so that they can be mended in one go. Lines
// and columns count from 1, and columns count characters. Trouble with reading
// as such, a missing file or a broken disk, is the operating system's error.
// Nothing a file holds makes this package panic, and it holds no more than
// [MaxBytes] of a file, however long a pipe runs on.
//
// What the readings mean is not judged here: one reading, or all of them at one
// mark, are accepted.
package readings
