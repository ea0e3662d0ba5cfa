package can

import (
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"gaugewright/internal/watch"
)

// nothing keeps nothing.
type nothing struct{ taken int }

func (n *nothing) Take(context.Context, []watch.Reading) error { return nil }
func (n *nothing) Later(list []watch.Reading, done func(error)) {
	n.taken += len(list)
	done(nil)
}
func (n *nothing) Offer(_ string, list []watch.Reading) { n.taken += len(list) }
func (n *nothing) Refused(string, string, []byte)       {}
func (n *nothing) Knows(string) bool                    { return true }

// endless repeats frames, one per read as a socket gives them.
type endless struct {
	frames [][]byte
	next   int
	left   int
}

func (e *endless) Read(b []byte) (int, error) {
	if e.left == 0 {
		return 0, io.EOF
	}
	e.left--
	e.next = (e.next + 1) % len(e.frames)
	return copy(b, e.frames[e.next]), nil
}
func (e *endless) Close() error { return nil }

// busy is a bus of which one frame in a hundred tells a level, which is many more
// than there are on a real one.
func busy(b *testing.B) [][]byte {
	var frames [][]byte
	for n := range 100 {
		f := frame(b, "18F00400#FFFFFF0000FFFFFF") // engine speed, the busiest of J1939
		if n == 50 {
			f = frame(b, "19F21123#103E49DC050000FF")
		}
		frames = append(frames, kernel(&f))
	}
	return frames
}

// BenchmarkLive is the whole way of a frame from the socket's bytes, without the
// system call.
func BenchmarkLive(b *testing.B) {
	f, err := New("can/boat", config(b, "interface = 'can0'\n"+fresh))
	if err != nil {
		b.Fatal(err)
	}
	bus, to := &endless{frames: busy(b), left: 0}, &nothing{}
	b.ReportAllocs()
	for b.Loop() {
		bus.left = 1000
		if err := f.(*live).listen(bus, to); err != io.EOF {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1000, "ns/frame")
	if to.taken == 0 {
		b.Error("nothing taken")
	}
}

func BenchmarkFluidLevel(b *testing.B) {
	l := heard(b, boat)
	f := frame(b, "19F21123#103E49B0040000FF")
	list := make([]watch.Reading, 0, 2)
	at := arrived(time.Now())
	to := &nothing{}
	b.ReportAllocs()
	for b.Loop() {
		if !concerns(&f) || len(l.take(list, &f, at, to)) != 1 {
			b.Fatal("no level")
		}
	}
}

func BenchmarkLog(b *testing.B) {
	text := strings.Repeat("(1436509052.249713) can0 18F00400#FFFFFF0000FFFFFF\n", 10_000)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		log := NewLogReader(strings.NewReader(text))
		for {
			if _, err := log.Next(); err == io.EOF {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/10_000, "ns/line")
}
