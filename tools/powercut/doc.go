// Command powercut cuts the power of the watch at every moment of a recorded
// run, as far as its files can tell.
//
//	go build -o gaugewright ./cmd/gaugewright && go run ./tools/powercut -program ./gaugewright
//
// It starts the program under strace (a Debian package; Linux only), sends it
// readings by MQTT, ends it in order, kills it, starts it again, and records each
// system call by which it changes a file or a name, makes one last, or sends an
// acknowledgement. Then, for each moment of that, it makes the files that a file
// system could have after the power went there and then: those with nothing but
// what was made to last, those with all, and some with any part of the rest,
// sector by sector and in any order. Each is opened as the program opens it, and
// has to have every reading that had been acknowledged before that moment, once.
//
// docs/reliability.md has the model and the figures.
package main
