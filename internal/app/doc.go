// Package app builds the running program out of its rooms: the data file, the
// meters, the pages, and the listener in front of them. It is New, Start and
// Stop; Stop may be called at any time, twice, and comes to an end.
package app
