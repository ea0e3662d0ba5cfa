// Package job is the notebook of one piece of work: customer, vehicle, tanks,
// their senders, the bench readings, what was keyed in, and the checks of it.
// What can be computed (curve, errors, verdicts) is never stored, only what
// was measured, chosen and done.
//
// The job file is JSON with a version and units in its field names; its schema
// is [Schema]. A field that isn't in the schema is refused by name.
package job
