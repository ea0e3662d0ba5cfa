// Package web is the pages of the bench: a job is one card that is worked from
// top to bottom.
//
// A handler reads what was asked, calls one function of the core, and shows
// what came of it. Pages are HTML made here, which work with forms alone; the
// scripts in static/ only make them quicker: they send the same forms without
// leaving the page, and fetch the page anew when the job has changed anywhere.
//
// Nothing is shown as done before the store says that it is kept.
package web
