package main

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
)

const at = "/d/f"

func played(events ...event) *disk {
	d := newDisk("/d")
	for _, e := range events {
		d.put(e)
	}
	return d
}

// What a cut leaves for sure: bytes and names that an fsync has confirmed, of
// those that came before it began (POSIX.1-2017, fsync; a name needs an fsync of
// its folder, as fsync(2) says).
func TestOnly(t *testing.T) {
	open, folder := event{kind: opened, path: at}, []event{{kind: syncing, path: "/d", mark: 1}, {kind: synced, path: "/d", mark: 1}}
	write := func(s string, offset int64) event {
		return event{kind: written, path: at, data: []byte(s), offset: offset}
	}
	begin, end := event{kind: syncing, path: at, mark: 2}, event{kind: synced, path: at, mark: 2}
	for _, c := range []struct {
		what   string
		events []event
		want   map[string]string
	}{
		{"nothing synced", []event{open, write("abc", 0)}, map[string]string{}},
		{"bytes synced, their name not", []event{open, write("abc", 0), begin, end}, map[string]string{}},
		{"a name synced, its bytes not", append([]event{open, write("abc", 0)}, folder...), map[string]string{at: ""}},
		{"both", append([]event{open, write("abc", 0), begin, end}, folder...), map[string]string{at: "abc"}},
		{"a write after the sync began", append([]event{open, write("abc", 0), begin, write("X", 1), end}, folder...), map[string]string{at: "abc"}},
		{"a sync that doesn't end", append([]event{open, write("abc", 0), begin}, folder...), map[string]string{at: ""}},
		{"beyond the end, and cut", append([]event{open, write("abc", 2), {kind: cut, path: at, offset: 4}, begin, end}, folder...), map[string]string{at: "\x00\x00ab"}},
		{"renamed, not synced", append(append([]event{open, write("abc", 0), begin, end}, folder...), event{kind: renamed, path: at, to: "/d/g"}), map[string]string{at: "abc"}},
		{"gone, not synced", append(append([]event{open, write("abc", 0), begin, end}, folder...), event{kind: unlinked, path: at}), map[string]string{at: "abc"}},
	} {
		got := map[string]string{}
		for name, b := range played(c.events...).only() {
			got[name] = string(b)
		}
		if !maps.Equal(got, c.want) {
			t.Errorf("%s: %q; want %q", c.what, got, c.want)
		}
	}
}

// What a cut may leave of two sectors, the first written twice, is each of the
// six ways, and nothing else.
func TestSome(t *testing.T) {
	fill := func(b byte, n int) []byte { return bytes.Repeat([]byte{b}, n) }
	d := played(
		event{kind: opened, path: at}, event{kind: syncing, path: "/d", mark: 1}, event{kind: synced, path: "/d", mark: 1},
		event{kind: written, path: at, data: fill('o', 2*sector)}, event{kind: syncing, path: at, mark: 2}, event{kind: synced, path: at, mark: 2},
		event{kind: written, path: at, data: fill('a', 2*sector)}, event{kind: written, path: at, data: fill('b', sector)},
	)
	seen := map[string]int{}
	random := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		b := d.some(random)[at]
		if len(b) != 2*sector || !bytes.Equal(b[:sector], fill(b[0], sector)) || !bytes.Equal(b[sector:], fill(b[sector], sector)) {
			t.Fatal("a sector is torn")
		}
		seen[string([]byte{b[0], b[sector]})]++
	}
	if got := slices.Sorted(maps.Keys(seen)); !slices.Equal(got, []string{"aa", "ao", "ba", "bo", "oa", "oo"}) {
		t.Errorf("seen: %v", seen)
	}
	if got := d.all()[at]; got[0] != 'b' || got[sector] != 'a' {
		t.Errorf("all: %c%c", got[0], got[sector])
	}
}
