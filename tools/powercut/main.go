package main

import (
	"flag"
	"fmt"
	"os"
	"time"
)

func main() {
	r := recording{}
	flag.StringVar(&r.program, "program", "gaugewright", "the program")
	flag.DurationVar(&r.each, "for", 4*time.Second, "how long each of the program's runs lasts")
	flag.StringVar(&r.commitEvery, "commit-every", "20ms", "how often it commits")
	flag.IntVar(&r.readings, "readings", 4, "readings in a message")
	flag.IntVar(&r.runs, "runs", 4, "how often it is started; every other time it is killed")
	t := trial{}
	flag.IntVar(&t.moments, "moments", 0, "moments that are tried, spread over all; 0: each")
	flag.IntVar(&t.some, "some", 4, "trials of each moment with some of what wasn't made to last")
	flag.IntVar(&t.other, "sqlite3", 100, "every how many trials the sqlite3 program looks at the file as well; 0: never")
	flag.Uint64Var(&t.seed, "seed", 1, "of what is drawn")
	folder := flag.String("folder", "", "folder for the recorded run; a temporary one unless given")
	flag.StringVar(&t.folder, "trials", "/dev/shm", "folder for the trials' files, best in memory")
	flag.Parse()
	if err := run(*folder, &r, t); err != nil {
		fmt.Fprintln(os.Stderr, "powercut:", err)
		os.Exit(1)
	}
}

func run(folder string, r *recording, t trial) error {
	if folder == "" {
		var err error
		if folder, err = os.MkdirTemp("", "powercut-"); err != nil {
			return err
		}
		defer os.RemoveAll(folder)
	}
	if err := r.record(folder); err != nil {
		return err
	}
	fmt.Println(r)
	begun := time.Now()
	found, err := t.all(r)
	if err != nil {
		return err
	}
	fmt.Printf("%s\n%.0f s\n", found, time.Since(begun).Seconds())
	if len(found.faults) > 0 {
		return fmt.Errorf("%d of %d trials are at fault", found.faulty, found.trials)
	}
	return nil
}
