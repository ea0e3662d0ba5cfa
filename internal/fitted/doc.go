// Package fitted makes of a tank in a job, as it was measured on the bench and
// handed over, the instrument through which the watch reads it.
package fitted
