// Package history is the past of a watch as people ask for it: what came in, the
// levels that were made of it, and what happened, over any time from an hour to
// years.
//
// It keeps nothing and reads no clock; a store keeps, and a page shows.
package history
