// Package storetest is the one suite that every [job.Store] passes: what each
// method promises and what each error means, whatever keeps the jobs.
//
// A store's own test says how to open an empty one:
//
//	storetest.Run(t, func(t *testing.T) job.Store { … })
package storetest
