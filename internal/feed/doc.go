// Package feed is what all the ways have in common by which readings come in:
// where they are handed over, when a reading was taken, and how a lost connection
// is tried again.
//
// Each way has a folder of its own. Its codec is one file, which knows nothing of
// connections; the connection is another.
package feed
