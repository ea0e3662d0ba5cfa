// Package lines reads devices that send text by themselves, a line per
// measurement: a number, several in columns, or names with numbers. They are
// connected by a serial line or TCP.
//
// codec.go knows what a line says, number.go what a number does; neither knows
// anything of connections.
package lines
