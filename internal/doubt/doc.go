// Package doubt keeps account of how well a figure is known: standard
// uncertainties and how they combine, after JCGM 100:2008 (GUM), and
// least-squares fits that carry the covariance of what they fitted.
//
// It knows nothing of senders or tanks. Arguments that can't be used (too few
// points, lengths that differ) give an error; figures that aren't finite are
// the caller's slip and panic.
package doubt
