package sqlite

import (
	"bytes"
	"encoding/binary"
	"io"
	"os"
	"strings"
)

const (
	// lookedBytes is how much of a file is looked at to find out whose it was: the pages
	// with its layout are among the first.
	lookedBytes = 8 << 20
	// sector is what a disk writes at once, and leaves as zeros when it fails to.
	sector = 512
	magic  = "SQLite format 3\x00"
)

// oursOnce says of a file that is damaged whether it plainly was one of readings, so
// that it may be put aside: another program's is never touched. It is where it was open
// before; where its header has this program's mark; where pages of it have the layout or
// bodies of readings; and where its first sector is all zeros and nothing in it is
// another's. What its -wal file had is in it by now: SQLite reads a sound one over it,
// and folds it in when it closes the file. (Pages and header as in
// sqlite.org/fileformat2.html.)
func (s *Readings) oursOnce() bool {
	if s.lines != nil {
		return true
	}
	main := beginning(s.path)
	if marked(main, s.id) {
		return true
	}
	whose := kin{others: anotherWithin(main)}
	for _, size := range []int{1024, 4096} { // what it is made with, and SQLite's own
		p := pages{size, main}
		for n := 1; n <= len(main)/size; n++ {
			p.look(n, s.layout, &whose)
		}
	}
	head := main[:min(len(main), sector)]
	zeros := len(head) > 0 && len(bytes.Trim(head, "\x00")) == 0
	return !whose.others && (whose.mine || zeros)
}

// kin is what pages say of whose they are.
type kin struct{ mine, others bool }

// beginning gives the first bytes of a file, none where it can't be read.
func beginning(path string) []byte {
	f, err := os.Open(path)
	if err != nil {
		return nil
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, lookedBytes))
	if err != nil {
		return nil
	}
	return b
}

// marked says whether a header has a layout's mark.
func marked(head []byte, id int64) bool {
	return len(head) >= 100 && int64(binary.BigEndian.Uint32(head[68:])) == id
}

// anotherWithin says whether a whole database begins further on: it is an archive or
// the image of a disk then.
func anotherWithin(b []byte) bool {
	for at := sector; at < len(b); at += sector {
		if bytes.HasPrefix(b[at:], []byte(magic)) {
			return true
		}
	}
	return false
}

// A leaf of a table, and whatever else may be the root of a tree, by the first byte.
const (
	tableLeaf = 0x0d
	roots     = "\x02\x05\x0a\x0d"
)

// look looks at the rows in a page.
func (p *pages) look(n int, l layout, k *kin) {
	b, from := p.page(n), 0
	if n == 1 {
		from = 100 // after the file's header
	}
	if b == nil || b[from] != tableLeaf {
		return
	}
	cells := int(binary.BigEndian.Uint16(b[from+3:]))
	for i := 0; i < cells && from+10+2*i <= len(b); i++ {
		at := int(binary.BigEndian.Uint16(b[from+8+2*i:]))
		if at >= len(b) {
			return
		}
		p.row(columnsOf(p.payload(b[at:])), l, k)
	}
}

// row judges by a row: one of the schema, whose root has to be where it says; or one
// with a body whose checksum is right.
func (p *pages) row(row []cell, l layout, k *kin) {
	if len(row) == 5 && string(row[0].bytes) == "table" {
		text := string(row[4].bytes)
		root := p.page(int(row[3].whole))
		switch {
		case !strings.HasPrefix(text, "CREATE TABLE ") || root == nil || !strings.ContainsRune(roots, rune(root[0])):
		case strings.HasPrefix(text, "CREATE TABLE migration ") || strings.HasPrefix(text, "CREATE TABLE sqlite_"):
			// Any file of this program has the first, and any the second.
		case l.has(text):
			k.mine = true
		default:
			k.others = true
		}
		return
	}
	for _, c := range row {
		if c.blob && len(c.bytes) > crcLength && c.bytes[0] >= bodyForm && c.bytes[0] <= newestForm {
			if _, err := checked(c.bytes, c.bytes[0]); err == nil {
				k.mine = true
			}
		}
	}
}

// has says whether a table is made by a step of the layout.
func (l *layout) has(text string) bool {
	for _, m := range l.steps {
		if strings.Contains(m.sql, text+";") {
			return true
		}
	}
	return false
}
