// Package port is a serial port as those feeds see it that read one: opened in
// bounded time, with deadlines as a network connection has them, and with the
// reasons why it can't be opened in words.
package port
