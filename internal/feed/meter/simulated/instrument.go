package simulated

import (
	"errors"
	"io"
	"math/rand/v2"
	"net"
	"sync"
	"time"
)

// Options say what kind of meter it is. The zero value is a meter that settles
// with a lag of 0.25 s and shows hundredths of an ohm, of which the last
// wanders.
type Options struct {
	Seed     uint64           // of the noise
	Lag      time.Duration    // time constant with which it settles; 0 is 250 ms, below 0 none
	Step     float64          // last digit, in ohms, volts or amperes; 0 is 0.01
	Noise    float64          // standard deviation in steps; 0 is 0.7, below 0 none
	Now      func() time.Time // nil is time.Now
	Identity string           // reply to *IDN?; "" is an invented one
	End      string           // of a line; "" is LF
	Echo     bool             // it sends back every message that it gets
	Drip     time.Duration    // pause before each byte that it sends; 0 sends a line at once
	Delay    time.Duration    // before a reply with a value
	Late     time.Duration    // after which the rest of a Half comes; 0 is 3 s
	Lines    time.Duration    // it sends a number per line at this pace and answers nothing; 0 speaks SCPI
	Plain    bool             // no SYST:ERR?, SYST:REM or SYST:LOC, as a simple meter
}

// Fault is a way to misbehave.
type Fault int

// The faults. All but Fine and Gone are of answers that bear a value.
const (
	Fine    Fault = iota
	Garble        // it sends what is no number
	Volts         // it answers with a unit of volts, whatever it is asked for
	Silent        // it measures and sends nothing
	Drop          // it sends half an answer and cuts the connection
	Half          // it sends half an answer, and the rest late
	Twice         // it sends the answer of before with that of now
	NotANum       // it answers 9.91E37
	Gone          // it cuts every connection, as if switched off
)

// Instrument is the meter. All its methods may be called from anywhere.
type Instrument struct {
	o        Options
	listener net.Listener
	group    sync.WaitGroup
	over     chan struct{} // closed by Close

	mu      sync.Mutex
	conns   map[io.Closer]bool
	closed  bool
	fault   Fault
	open    bool
	values  [3]settling // ohms, volts, amperes
	set     int         // which of them CONF chose
	noise   *rand.Rand
	queue   []string // of errors
	hadRead bool
	asked   int // values that were asked for
}

// Which of the values.
const (
	inOhms = iota
	inVolts
	inAmps
)

// New makes an instrument without a socket, to be used with Serve.
func New(o Options) *Instrument {
	if o.Lag == 0 {
		o.Lag = 250 * time.Millisecond
	}
	if o.Step == 0 {
		o.Step = 0.01
	}
	if o.Noise == 0 {
		o.Noise = 0.7
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Identity == "" {
		o.Identity = "Invented Instruments,Bench 1,0,1.0"
	}
	if o.End == "" {
		o.End = "\n"
	}
	if o.Late == 0 {
		o.Late = 3 * time.Second
	}
	return &Instrument{o: o, over: make(chan struct{}), conns: make(map[io.Closer]bool), set: inVolts, noise: rand.New(rand.NewPCG(o.Seed, 0x6d65746572))}
}

// Listen makes an instrument that waits for connections at a TCP address, such
// as "127.0.0.1:0". The error is that of the socket.
func Listen(addr string, o Options) (*Instrument, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	i := New(o)
	i.listener = l
	i.group.Go(func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			i.group.Go(func() { i.Serve(conn) })
		}
	})
	return i, nil
}

// Addr is the address that it listens at, with its port; "" if it has none.
func (i *Instrument) Addr() string {
	if i.listener == nil {
		return ""
	}
	return i.listener.Addr().String()
}

// Close cuts every connection and ends the socket; it waits until all is over.
// Closing it again is no harm.
func (i *Instrument) Close() error {
	i.mu.Lock()
	if !i.closed {
		close(i.over)
	}
	i.closed = true
	i.cut()
	i.mu.Unlock()
	var err error
	if i.listener != nil {
		if err = i.listener.Close(); errors.Is(err, net.ErrClosed) {
			err = nil
		}
	}
	i.group.Wait()
	return err
}

// cut ends every connection.
func (i *Instrument) cut() {
	for c := range i.conns {
		c.Close()
	}
}

// SetOhms puts a resistance between its leads; it closes an open circuit.
func (i *Instrument) SetOhms(v float64) { i.setValue(inOhms, v) }

// SetVolts puts a voltage between its leads.
func (i *Instrument) SetVolts(v float64) { i.setValue(inVolts, v) }

// SetAmps sends a current through its leads.
func (i *Instrument) SetAmps(v float64) { i.setValue(inAmps, v) }

// SetOpen opens the circuit: every value is an overload until the next is set.
func (i *Instrument) SetOpen() {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.open = true
}

// SetFault makes it misbehave from now on, or no more by Fine.
func (i *Instrument) SetFault(f Fault) {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.fault = f; f == Gone {
		i.cut()
	}
}

// Asked is how many values it has been asked for, or has sent of itself.
func (i *Instrument) Asked() int {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.asked
}

func (i *Instrument) setValue(which int, v float64) {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.open = false
	i.values[which].move(v, i.o.Now(), i.o.Lag)
}

func (i *Instrument) now() Fault {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.fault
}
