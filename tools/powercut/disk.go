package main

import (
	"math/rand/v2"
	"slices"
)

// sector is what a disk writes whole or not at all.
const sector = 512

// disk is what a file system promises to have after a power cut, and what it may
// have besides.
//
// Of a file's bytes, those count as lasting that an fsync of that file has
// confirmed, of those that were written before it began. Of names, those that an
// fsync of their folder has confirmed. All else may be there or not, sector by
// sector and name by name, in any order.
type disk struct {
	folder string
	names  map[string]*inode // as the running program sees them
	last   map[string]*inode // that last
	moves  []move            // of names, that don't last yet
	begun  map[int]int       // by a sync's mark: how much had been done
	done   int               // changes so far
}

// inode is a file, whatever its name.
type inode struct {
	last  []byte   // what lasts
	since []change // what doesn't yet, in order
}

// change is bytes that were written, or a new length.
type change struct {
	data   []byte
	offset int64
	cut    bool
	number int // in the order of all
}

// move is a change of names, which happens as a whole.
type move struct {
	set    map[string]*inode // nil: gone
	number int
}

func newDisk(folder string) *disk {
	return &disk{folder: folder, names: map[string]*inode{}, last: map[string]*inode{}, begun: map[int]int{}}
}

// put takes in what happened. Files that were there before the trace aren't
// known: there has to be none.
func (d *disk) put(e event) {
	d.done++
	f := d.names[e.path]
	switch e.kind {
	case opened:
		if f == nil {
			f = new(inode)
			d.names[e.path] = f
			d.move(map[string]*inode{e.path: f})
		}
	case written:
		if f != nil {
			f.since = append(f.since, change{data: e.data, offset: e.offset, number: d.done})
		}
	case cut:
		if f != nil {
			f.since = append(f.since, change{offset: e.offset, cut: true, number: d.done})
		}
	case renamed:
		delete(d.names, e.path)
		d.names[e.to] = f
		d.move(map[string]*inode{e.path: nil, e.to: f})
	case unlinked:
		delete(d.names, e.path)
		d.move(map[string]*inode{e.path: nil})
	case syncing:
		d.begun[e.mark] = d.done
	case synced:
		upTo := d.begun[e.mark]
		delete(d.begun, e.mark)
		if e.path == d.folder {
			for len(d.moves) > 0 && d.moves[0].number <= upTo {
				d.moves[0].to(d.last)
				d.moves = d.moves[1:]
			}
			return
		}
		if f != nil {
			for len(f.since) > 0 && f.since[0].number <= upTo {
				f.last = f.since[0].whole(f.last)
				f.since = f.since[1:]
			}
		}
	}
}

func (d *disk) move(set map[string]*inode) { d.moves = append(d.moves, move{set, d.done}) }

func (m move) to(names map[string]*inode) {
	for name, f := range m.set {
		if f == nil {
			delete(names, name)
		} else {
			names[name] = f
		}
	}
}

// whole makes a change of a file's bytes.
func (c change) whole(b []byte) []byte {
	if c.cut {
		return resized(b, c.offset, nil)
	}
	if end := c.offset + int64(len(c.data)); end > int64(len(b)) {
		b = resized(b, end, nil)
	}
	copy(b[c.offset:], c.data)
	return b
}

// torn makes a change by some of its sectors, each with a chance.
func (c change) torn(b []byte, chance float64, random *rand.Rand, fill func([]byte)) []byte {
	if c.cut {
		if random.Float64() < chance {
			b = resized(b, c.offset, fill)
		}
		return b
	}
	for from := int64(0); from < int64(len(c.data)); {
		to := min((c.offset+from)/sector*sector+sector-c.offset, int64(len(c.data)))
		if random.Float64() < chance {
			if end := c.offset + to; end > int64(len(b)) {
				b = resized(b, end, fill)
			}
			copy(b[c.offset+from:], c.data[from:to])
		}
		from = to
	}
	return b
}

// resized gives bytes another length. What is new is zero, or what fill puts
// there.
func resized(b []byte, size int64, fill func([]byte)) []byte {
	if size <= int64(len(b)) {
		return b[:size]
	}
	old := len(b)
	b = slices.Grow(b, int(size)-old)[:size]
	clear(b[old:])
	if fill != nil {
		fill(b[old:])
	}
	return b
}

// only gives the files after a cut that left nothing but what was made to last.
func (d *disk) only() map[string][]byte {
	files := map[string][]byte{}
	for name, f := range d.last {
		files[name] = slices.Clone(f.last)
	}
	return files
}

// all gives the files after a cut before which everything had got to the disk.
func (d *disk) all() map[string][]byte {
	files := map[string][]byte{}
	for name, f := range d.names {
		b := slices.Clone(f.last)
		for _, c := range f.since {
			b = c.whole(b)
		}
		files[name] = b
	}
	return files
}

// some gives the files after a cut that left some of what wasn't made to last:
// of each file some of its changes, sector by sector, as if they were written in
// any order; of the names the first few changes, or any. Where a file is longer
// than what got there, the rest is zero or, on file systems that don't see to it,
// anything.
func (d *disk) some(random *rand.Rand) map[string][]byte {
	names := map[string]*inode{}
	for name, f := range d.last {
		names[name] = f
	}
	if random.IntN(2) == 0 {
		for _, m := range d.moves[:random.IntN(len(d.moves)+1)] {
			m.to(names)
		}
	} else {
		for _, m := range d.moves {
			if random.IntN(2) == 0 {
				m.to(names)
			}
		}
	}
	var fill func([]byte)
	if random.IntN(3) == 0 {
		fill = func(b []byte) {
			for i := range b {
				b[i] = byte(random.Uint32())
			}
		}
	}
	chances := []float64{0.02, 0.5, 0.98}
	files := map[string][]byte{}
	for name, f := range names {
		b, chance := slices.Clone(f.last), chances[random.IntN(len(chances))]
		for _, c := range f.since {
			b = c.torn(b, chance, random, fill)
		}
		files[name] = b
	}
	return files
}
