// Package file plays a recorded history as if it came in now.
package file
