package main

import (
	"bytes"
	"gaugewright/internal/peer"
	"os"
	"testing"
)

// What is counted as written rises with what is written and synced.
func TestWritten(t *testing.T) {
	before, err := written()
	if err != nil {
		t.Skip(err)
	}
	f, err := os.CreateTemp(peer.Disk(t), "")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Write(bytes.Repeat([]byte{1}, 1<<20)); err != nil {
		t.Fatal(err)
	}
	if err := f.Sync(); err != nil {
		t.Fatal(err)
	}
	after, err := written()
	if err != nil {
		t.Fatal(err)
	}
	if after == before {
		t.Skip("the temporary folder isn't on a disk")
	}
	if n := after - before; n < 1<<20 || n > 1<<21 {
		t.Errorf("a MiB comes to %d bytes written", n)
	}
}
