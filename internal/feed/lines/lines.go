package lines

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/port"
	"gaugewright/internal/watch"
)

// Times of a connection.
const (
	dialTime = 5 * time.Second
	quiet    = 150 * time.Millisecond // without a byte is between two lines, and no gap in one
	stall    = time.Second            // that a line may stand still before its end
	behind   = time.Second            // that lines of one chunk may have been on their way
)

// Feed reads the lines of one device.
type Feed struct {
	name   string
	host   string
	line   port.Setup
	layout layout
	dial   func(context.Context) (io.ReadWriteCloser, error)

	halfway bool      // the last connection ended within a line
	last    time.Time // of the last reading
}

// New makes a feed of the table [lines.NAME]. The error names the key, what it
// has, and what was expected.
func New(name string, c Config) (feed.Feed, error) {
	f := &Feed{name: "lines/" + name}
	var key string
	var err error
	if f.host, f.line, key, err = c.place(); err != nil {
		return nil, fmt.Errorf("lines.%s.%s: %w", name, key, err)
	}
	if f.layout, key, err = c.layout(); err != nil {
		return nil, fmt.Errorf("lines.%s.%s: %w", name, key, err)
	}
	f.dial = f.connect
	return f, nil
}

// Name is "lines/NAME".
func (f *Feed) Name() string { return f.name }

// Run reads until the context ends. A tank that nobody watches is an error.
func (f *Feed) Run(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	for _, tank := range f.layout.tanks() {
		if !to.Knows(tank) {
			return fmt.Errorf("%s: no tank %q is watched; write its table [tank.%s], or look at the spelling", f.name, tank, tank)
		}
	}
	feed.Again(ctx, tell, func(ctx context.Context) error { return f.listen(ctx, to, tell) })
	return nil
}

func (f *Feed) connect(ctx context.Context) (io.ReadWriteCloser, error) {
	if f.host == "" {
		p, err := port.Open(ctx, f.line)
		if err != nil {
			return nil, err
		}
		return p, nil
	}
	d := net.Dialer{
		Timeout:         dialTime,
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: 15 * time.Second, Interval: 5 * time.Second, Count: 3},
	}
	return d.DialContext(ctx, "tcp", f.host)
}

func (f *Feed) where() string {
	if f.host != "" {
		return f.host
	}
	return f.line.String()
}

// listen reads one connection until it ends. What comes before the first end of
// a line is half a line for all that is known, unless the device was silent just
// before; so is what stood still before its end, or was cut off.
func (f *Feed) listen(ctx context.Context, to feed.Sink, tell feed.Teller) error {
	rw, err := f.dial(ctx)
	if err != nil {
		return err
	}
	stop := context.AfterFunc(ctx, func() { rw.Close() })
	defer func() {
		if stop() {
			rw.Close()
		}
	}()
	tell.Up(f.where())
	cut := cutter{skip: f.halfway}
	defer func() {
		if f.halfway = cut.partial(); len(cut.part) > 0 {
			f.refuse(to, halfLine, cut.part)
		}
	}()
	opened := time.Now()
	var heard time.Time // when the last byte came
	chunk := make([]byte, 16<<10)
	for {
		n, err := rw.Read(chunk)
		now := time.Now()
		if n > 0 {
			switch {
			case heard.IsZero() && now.Sub(opened) < quiet:
				cut.skip = true
			case !heard.IsZero() && len(cut.part) > 0 && now.Sub(heard) >= stall:
				f.refuse(to, halfLine, cut.part)
				cut = cutter{skip: true}
			}
			heard = now
			f.take(&cut, chunk[:n], now, to)
		}
		if err != nil {
			return fmt.Errorf("the connection ended: %w", err)
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
}

// take reads the lines of one chunk and hands their readings over.
func (f *Feed) take(cut *cutter, chunk []byte, now time.Time, to feed.Sink) {
	var values []value
	var line []int // of each value
	lines := 0
	cut.push(chunk,
		func(text []byte) {
			values = f.layout.read(text, values, func(why string) { f.refuse(to, why, text) })
			if len(values) > len(line) {
				lines++
			}
			for len(line) < len(values) {
				line = append(line, lines)
			}
		},
		func(text []byte) { f.refuse(to, tooLong, text) })
	if len(values) == 0 {
		return
	}
	// Lines that came in one chunk came one after another: their times are
	// spread evenly from the last reading to now, or over a second if that was
	// longer ago, so that no two readings of a tank have the same time.
	from := f.last
	if earliest := now.Add(-behind); from.Before(earliest) {
		from = earliest
	}
	if !from.Before(now) { // the clock was set back, or stands
		from, now = now, now.Add(time.Duration(lines))
	}
	f.last = now
	readings := make([]watch.Reading, len(values))
	for n, v := range values {
		at := from.Add(time.Duration(float64(now.Sub(from)) * float64(line[n]) / float64(lines)))
		readings[n] = watch.Reading{Tank: v.tank, Source: f.name, Time: at, Arrived: at, Clock: watch.ArrivalClock, Signal: f.layout.signal, Said: v.said, Value: v.v}
	}
	to.Offer(f.name, readings)
}

// refuse counts what can't be read. The sample is cut short and a copy.
func (f *Feed) refuse(to feed.Sink, why string, text []byte) {
	const most = 200
	to.Refused(f.name, why, bytes.Clone(text[:min(len(text), most)]))
}
