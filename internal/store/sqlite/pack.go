package sqlite

import (
	"bytes"
	"compress/gzip"
	"io"
	"sync"
)

// packers are kept for the next, as each takes most of a megabyte.
var packers = sync.Pool{New: func() any {
	w, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	if err != nil {
		panic("sqlite: " + err.Error())
	}
	return w
}}

// pack makes a document small by gzip (RFC 1952), which also guards it with a
// checksum.
func pack(text []byte) ([]byte, error) {
	w := packers.Get().(*gzip.Writer)
	defer packers.Put(w)
	var b bytes.Buffer
	w.Reset(&b)
	if _, err := w.Write(text); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// unpack gives the document that pack made small. It is an error where it isn't
// whole, and where it comes to more than most.
func unpack(packed []byte, most int64) ([]byte, error) {
	r, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	text, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(text)) > most {
		err = io.ErrShortBuffer
	}
	return text, err
}
