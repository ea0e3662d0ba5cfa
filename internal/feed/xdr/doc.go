// Package xdr listens to transducer sentences of NMEA 0183 over TCP, UDP and
// serial lines.
//
// sentence.go, transducer.go and clock.go are the codec and know nothing of
// connections; lines.go cuts a stream into lines; listener.go picks what is
// configured out of them; connect.go and feed.go are the connection.
package xdr
