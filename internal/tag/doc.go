// Package tag puts the settings and the curve of a tank into a code that can be
// printed, and reads them from it.
package tag
