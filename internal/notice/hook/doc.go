// Package hook posts notices to an address as JSON, signed.
//
// The signature is an HTTP Message Signature (RFC 9421) by HMAC with SHA-256 over the
// method, where it goes, the kind of what is in it and its digest (RFC 9530), and the
// time at which it was made. docs/notices.md says how whoever gets it checks it.
package hook
