// Package drift tells whether a sender has changed since its record was made.
package drift
