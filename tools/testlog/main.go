// Command testlog reads what "go test -json" printed and says what a person
// wants to know of it: what failed and what it printed, what was skipped and
// why, and on the last line how many tests ran, subtests included, as
// "12 passed, 0 failed, 0 skipped".
//
//	go run ./tools/testlog FILE
//
// It exits 1 if a test failed or none ran, 2 if the file can't be read.
package main

import (
	"fmt"
	"io"
	"os"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "testlog: expected one argument: the file that go test -json wrote")
		os.Exit(2)
	}
	f, err := os.Open(os.Args[1])
	if err != nil {
		fmt.Fprintf(os.Stderr, "testlog: %v\n", err)
		os.Exit(2)
	}
	defer f.Close()
	good, err := summarize(f, os.Stdout)
	if err != nil {
		fmt.Fprintf(os.Stderr, "testlog: %s: %v\n", os.Args[1], err)
		os.Exit(2)
	}
	if !good {
		os.Exit(1)
	}
}

// summarize does the work of the command and tells whether all is well.
func summarize(in io.Reader, out io.Writer) (good bool, err error) {
	r, err := read(in)
	if err != nil {
		return false, err
	}
	for _, f := range r.failures() {
		fmt.Fprintf(out, "--- failed: %s\n%s", f.name, f.output)
	}
	for _, s := range r.skips() {
		fmt.Fprintf(out, "--- skipped: %s\n%s", s.name, s.output)
	}
	// The names once more, for who sees only the end of a long report.
	for _, f := range r.failures() {
		fmt.Fprintf(out, "failed: %s\n", f.name)
	}
	passed, failed, skipped := r.counts()
	if passed+failed+skipped == 0 {
		fmt.Fprintln(out, "no test ran")
	}
	fmt.Fprintf(out, "%d passed, %d failed, %d skipped\n", passed, failed, skipped)
	return failed == 0 && passed > 0, nil
}
