package main

import (
	"context"
	"io"
)

// until is a reader that ends when the context does, even while it waits for
// more: a history may come through a pipe that has nothing more to say.
type until struct {
	ctx  context.Context
	from io.Reader
	came chan piece
	rest []byte
	err  error
}

type piece struct {
	text []byte
	err  error
}

func (u *until) Read(p []byte) (int, error) {
	if u.came == nil {
		u.came = make(chan piece)
		go u.readOn()
	}
	for len(u.rest) == 0 {
		if u.err != nil {
			return 0, u.err
		}
		select {
		case <-u.ctx.Done():
			u.err = io.EOF // what has come so far is told
		case c := <-u.came:
			u.rest, u.err = c.text, c.err
		}
	}
	n := copy(p, u.rest)
	u.rest = u.rest[n:]
	return n, nil
}

// readOn reads ahead, in two pieces of memory by turns.
func (u *until) readOn() {
	var turns [2][128 << 10]byte
	for i := 0; ; i = 1 - i {
		n, err := u.from.Read(turns[i][:])
		select {
		case u.came <- piece{turns[i][:n], err}:
		case <-u.ctx.Done():
			return
		}
		if err != nil {
			return
		}
	}
}
