// Package push sends notices to browsers by Web Push: to the push service that the
// browser named (RFC 8030), encrypted for the browser alone (RFC 8291, as content coded
// in aes128gcm of RFC 8188), and with a token that says who sends it (VAPID, RFC 8292).
//
// A browser may name any address as its push service, so addresses of this machine and
// of the networks it is in are refused unless that was allowed.
package push
