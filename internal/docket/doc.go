// Package docket learns from what is known of a tank besides its sender: receipts for
// what was filled in, the moment at which the pump stopped by itself, the moment at
// which the burner went out, a tank that was weighed. Over some of them it says what
// the sender really shows, what the tank holds, and which end values would be better.
package docket
