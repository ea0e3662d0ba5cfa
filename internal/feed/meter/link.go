package meter

import (
	"context"
	"errors"
	"io"
	"os"
	"slices"
	"strings"
	"time"
)

// Why no line came.
var (
	errSilent = errors.New("silent")           // in time
	errHalf   = errors.New("half a line")      // a line began and didn't end in time
	errBroken = errors.New("broken off")       // the connection ended within a line
	errLost   = errors.New("connection ended") // the connection ended
	errStuck  = errors.New("nothing is taken") // a message couldn't be sent in time
	errMute   = errors.New("no lines")         // from a device that is only listened to, in time
)

// link is an open connection, read by a goroutine of its own, so that no
// blocked read and no blocked write ever holds up the one who uses it.
type link struct {
	rw     io.ReadWriteCloser
	chunks chan []byte // closed when nothing can be read any more
	ended  chan struct{}
	cut    cutter
	heard  time.Time // the time of the last byte
	sent   []string  // the last messages
}

func newLink(rw io.ReadWriteCloser) *link {
	l := &link{rw: rw, chunks: make(chan []byte), ended: make(chan struct{})}
	go l.pump()
	return l
}

func (l *link) pump() {
	defer close(l.chunks)
	buffer := make([]byte, 1024)
	for {
		n, err := l.rw.Read(buffer)
		if n > 0 {
			select {
			case l.chunks <- append([]byte(nil), buffer[:n]...):
			case <-l.ended:
				return
			}
		}
		if err != nil && !(n == 0 && errors.Is(err, os.ErrDeadlineExceeded)) {
			return
		}
		select {
		case <-l.ended:
			return
		default:
		}
	}
}

// close ends the connection, and waits for that no longer than a port that
// was pulled out may hang.
func (l *link) close() {
	close(l.ended)
	closed := make(chan struct{})
	go func() {
		l.rw.Close()
		close(closed)
	}()
	t := time.NewTimer(closeTime)
	defer t.Stop()
	select {
	case <-closed:
	case <-t.C:
	}
}

// send writes one message and its LF. What comes meanwhile is kept, for some
// devices take nothing more until what they send is taken.
func (l *link) send(ctx context.Context, message string, within time.Duration) error {
	done := make(chan error, 1)
	go func() {
		_, err := io.WriteString(l.rw, message+"\n")
		done <- err
	}()
	if l.sent = append(l.sent, message); len(l.sent) > remembered {
		l.sent = l.sent[1:]
	}
	t := time.NewTimer(within)
	defer t.Stop()
	for {
		select {
		case err := <-done:
			if err != nil {
				return l.gone()
			}
			return nil
		case chunk, ok := <-l.chunks:
			if !ok {
				return l.gone()
			}
			l.take(chunk)
		case <-t.C:
			return errStuck
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// remembered is how many messages an echo is looked for of: those that are sent
// between two questions.
const remembered = 4

// mostWaiting is how many lines are kept that nobody has asked for; the oldest
// go first. It is more than one chunk can hold.
const mostWaiting = 1024

// echo says whether a line is what was sent, as some devices give it back.
func (l *link) echo(line string) bool {
	line = strings.TrimSpace(line)
	return slices.ContainsFunc(l.sent, func(s string) bool { return strings.EqualFold(s, line) })
}

// gone is the error of a connection that has ended.
func (l *link) gone() error {
	if l.cut.partial() {
		return errBroken
	}
	return errLost
}

// take puts what has come to the lines. What stood still within a line is none:
// nobody knows whether the rest belongs to it.
func (l *link) take(chunk []byte) {
	now := time.Now()
	if l.cut.partial() && now.Sub(l.heard) >= stall {
		l.cut.skipRest()
	}
	l.heard = now
	l.cut.push(chunk)
	if n := len(l.cut.lines) - mostWaiting; n > 0 {
		l.cut.lines = l.cut.lines[n:]
	}
}

// line waits for the next whole line.
func (l *link) line(ctx context.Context, within time.Duration) (string, error) {
	t := time.NewTimer(within)
	defer t.Stop()
	for {
		if line, ok := l.cut.next(); ok {
			return line, nil
		}
		select {
		case chunk, ok := <-l.chunks:
			if !ok {
				return "", l.gone()
			}
			l.take(chunk)
		case <-t.C:
			if l.cut.partial() {
				return "", errHalf
			}
			return "", errSilent
		case <-ctx.Done():
			return "", ctx.Err()
		}
	}
}

// rest waits for some time and says whether anything was sent meanwhile, whole
// lines or not. It ends early where the connection does.
func (l *link) rest(ctx context.Context, d time.Duration) (stray bool, err error) {
	t := time.NewTimer(d)
	defer t.Stop()
	for {
		select {
		case chunk, ok := <-l.chunks:
			if !ok {
				return stray, l.gone()
			}
			l.take(chunk)
			stray = stray || len(l.cut.lines) > 0 || l.cut.partial()
		case <-t.C:
			return stray || len(l.cut.lines) > 0 || l.cut.partial(), nil
		case <-ctx.Done():
			return stray, ctx.Err()
		}
	}
}

// drop throws away what has come, and waits until nothing has come for the
// quiet time, or for a second at the most.
func (l *link) drop(ctx context.Context) error {
	for end := time.Now().Add(time.Second); ; {
		l.cut = cutter{}
		stray, err := l.rest(ctx, quiet)
		if err != nil || !stray || !time.Now().Before(end) {
			l.cut = cutter{}
			return err
		}
	}
}
