// Package hook posts notices to an address, signed.
package hook
