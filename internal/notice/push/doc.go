// Package push sends notices to browsers by Web Push (RFC 8030, RFC 8291, RFC 8292).
package push
