// Package post takes readings by HTTP POST: JSON, one reading or many. It is a
// feed as the others are, and a handler that the program's own web server serves.
package post
