// Package gauge puts the parts together: ohms in, level with its doubt out.
//
// A Gauge is a sender's curve with the scale its level is to be shown on. It
// answers what a resistance means, and what a setting will show for a true
// level, each with its standard uncertainty and its 95 % interval.
package gauge
