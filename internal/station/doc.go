// Package station wires the watch together: feeds in, readings on disk, a watch
// for each tank, levels out.
package station
