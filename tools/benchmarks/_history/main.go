// Command history packs a simulated year of readings as the store does, and beside
// it with general-purpose codecs, and times a thousand buckets of it. Its figures
// are in docs/benchmarks.md. It is a module of its own, so that the product doesn't
// depend on what it is compared with.
//
//	go run . [-length 8760h] [-columns FOLDER]
package main

import (
	"flag"
	"fmt"
	"os"
	"time"
)

func main() {
	length := flag.Duration("length", 365*24*time.Hour, "how long the simulated time is")
	columns := flag.String("columns", "", "also write the columns into this folder, as int64")
	flag.Parse()
	if err := run(*length, *columns); err != nil {
		fmt.Fprintln(os.Stderr, "history:", err)
		os.Exit(1)
	}
}

func run(length time.Duration, columns string) error {
	begun := time.Now()
	lines, err := year(length)
	if err != nil {
		return err
	}
	fmt.Printf("%d lines of %d readings simulated in %s\n", len(lines), len(lines[0].times), time.Since(begun).Round(time.Second))
	if columns != "" {
		if err := write(columns, lines); err != nil {
			return err
		}
	}
	for _, l := range lines {
		if err := beside(l, ours(l)); err != nil {
			return err
		}
	}
	return nil
}
