package xdr

import (
	"context"
	"io"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// receiver brings the sentences of one source.
type receiver struct {
	name      string
	where     string
	open      opener
	datagrams bool // each read is one datagram, which ends a line
	listener  *listener
}

// Name is as it was given.
func (r *receiver) Name() string { return r.name }

// Run listens until the context ends.
func (r *receiver) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	if err := r.listener.missing(to); err != nil {
		return err
	}
	feed.Again(ctx, tell, func(ctx context.Context) error {
		conn, err := r.open(ctx)
		if err != nil {
			return whyNot(r.where, err)
		}
		defer conn.Close()
		stop := context.AfterFunc(ctx, func() { conn.Close() })
		defer stop()
		tell.Up(r.where)
		return whyNot(r.where, r.listen(ctx, conn, to))
	})
	return nil
}

// mostDatagram is the most bytes that a datagram of UDP can have.
const mostDatagram = 65_536

// listen reads until the connection or the context ends.
func (r *receiver) listen(ctx context.Context, conn io.Reader, to feed.Sink) error {
	var cut cutter
	var list []watch.Reading
	var arrived time.Time
	first := !r.datagrams
	give := func(line []byte, toolong bool) {
		list = r.listener.line(list, line, toolong, first, arrived, to)
		first = false
	}
	for buffer := make([]byte, mostDatagram); ctx.Err() == nil; {
		n, err := conn.Read(buffer)
		arrived = time.Now()
		cut.push(buffer[:n], give)
		if r.datagrams {
			cut.end(give)
		}
		if len(list) > 0 {
			to.Offer(r.name, list) // the source can't be asked again; the next one comes within seconds
			list = nil             // it is the sink's now
		}
		if err != nil {
			return err
		}
	}
	return ctx.Err()
}
