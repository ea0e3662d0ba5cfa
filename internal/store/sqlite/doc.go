// Package sqlite keeps the jobs of a workshop in one SQLite file: a [job.Store]
// that needs no server, and a store of web sessions beside it. The readings of a watch
// and what was made of them are in another, [Readings]; docs/history.md says how.
//
// Each job is there as its present job file, as the line that the list of jobs
// shows of it, and as every revision it ever had; revisions are only ever
// added. A change is one transaction: the job file, its line, its revision and
// the key that names the change are on the disk together or not at all.
//
// The file is in write-ahead mode with full synchronisation, so what a method
// has returned without an error outlasts a crash of the program, and a power
// cut where the disk does what it is told. While it is open, files of its name
// with -wal and -shm at the end stand beside it and belong to it; a copy is made
// by [Store.Backup] and not by copying the one file. Several processes on one
// computer may have it open; a folder shared over a network is no place for it.
package sqlite
