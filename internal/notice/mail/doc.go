// Package mail sends notices by e-mail: SMTP submission (RFC 6409) with STARTTLS (RFC
// 3207) or TLS from the start (RFC 8314), as plain text.
//
// Each recipient is a way of its own, so that an address that is refused holds up no
// other. A notice that is sent again has the same Message-ID, and readers of mail show
// it once. Mail says of itself that no person sent it (RFC 3834), so that nobody's
// absence is told to the watch.
package mail
