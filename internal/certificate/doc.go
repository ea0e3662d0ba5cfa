// Package certificate has the certificates by which this machine's own services
// speak TLS: one that was given, which is read again when its files change, and
// one that is made here and renewed by itself.
package certificate
