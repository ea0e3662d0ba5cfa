// Package recording reads and writes histories: what a sender said over hours to
// years, as CSV, a time and a value in each line.
package recording
