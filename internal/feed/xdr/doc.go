// Package xdr listens to transducer sentences of NMEA 0183 over TCP, UDP and
// serial lines.
package xdr
