// Command elfstatic says whether a Linux program is static: needs no loader
// and no shared library, and was built without cgo, so that it runs on any
// Linux of its processor.
//
//	go run ./tools/elfstatic FILE
//
// It exits 1 if the program is not static, and says why.
package main

import (
	"debug/buildinfo"
	"debug/elf"
	"fmt"
	"os"
	"strings"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "elfstatic: expected one argument: the program to look at")
		os.Exit(2)
	}
	if err := check(os.Args[1]); err != nil {
		fmt.Fprintf(os.Stderr, "elfstatic: %s: %v\n", os.Args[1], err)
		os.Exit(1)
	}
	fmt.Printf("%s: static, no loader, no shared library, built without cgo\n", os.Args[1])
}

// check returns what keeps the file from being static, or nil.
func check(path string) error {
	f, err := elf.Open(path)
	if err != nil {
		return fmt.Errorf("expected a Linux program: %w", err)
	}
	defer f.Close()
	for _, p := range f.Progs {
		if p.Type == elf.PT_INTERP {
			return fmt.Errorf("it asks for a loader; expected none: build it with CGO_ENABLED=0")
		}
	}
	libraries, err := f.ImportedLibraries()
	if err != nil {
		return err
	}
	if len(libraries) > 0 {
		return fmt.Errorf("it needs %s; expected no shared library: build it with CGO_ENABLED=0", strings.Join(libraries, ", "))
	}
	info, err := buildinfo.ReadFile(path)
	if err != nil {
		return fmt.Errorf("it doesn't say how it was built: %w", err)
	}
	for _, s := range info.Settings {
		if s.Key == "CGO_ENABLED" && s.Value == "0" {
			return nil
		}
	}
	return fmt.Errorf("it was built with cgo; expected CGO_ENABLED=0")
}
