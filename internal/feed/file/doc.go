// Package file plays a recorded history as if it came in now: for a demonstration,
// and to try a configuration on what a tank did last year.
package file
