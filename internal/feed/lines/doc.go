// Package lines reads a number a line from a serial line or a TCP connection.
package lines
