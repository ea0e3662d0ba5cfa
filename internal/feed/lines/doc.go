// Package lines reads devices that send text by themselves, a line per
// measurement: a number, several in columns, or names with numbers. They are
// connected by a serial line or TCP.
//
// codec.go knows what a line says and knows nothing of connections.
package lines
