// Package kin is what senders of one type have in common, and how far they differ.
package kin
