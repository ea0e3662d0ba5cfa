package modbus

import (
	"errors"
	"fmt"
	"os"
	"time"
)

// Why no answer came: none in time, or the connection has ended.
var (
	errNoAnswer = errors.New("no answer")
	errLost     = errors.New("the connection ended")
)

// Bounds of one answer. A flood of bytes that are none ends it.
const (
	mostBytes  = 1024 // on a serial line: a frame has 256 at most
	mostFrames = 64   // over TCP, of answers to other questions
)

// talk asks over one connection, a question at a time.
type talk struct {
	wire        wire
	place       place
	timeout     time.Duration
	refused     func(why string, sample []byte)
	stop        func() bool // ends the watching of the context
	transaction uint16
	got         []byte    // come and not used yet
	last        time.Time // when the line was last in use

	answering [256]bool // units whose last answer came
}

// secondChance says whether to ask a unit once more that didn't answer. On a
// serial line a frame is lost now and then, to noise, or to a device that took
// what was meant for another one amiss; so a unit that has been answering is
// asked twice, and one that is away only once a round.
func (t *talk) secondChance(unit byte) bool {
	again := t.place.rtu() && t.answering[unit]
	t.answering[unit] = false
	return again
}

// close ends the connection. It may be called on none.
func (t *talk) close() {
	if t != nil && t.stop() {
		t.wire.Close()
	}
}

// ask gives the bytes of the registers asked for. The error is an [exception],
// errNoAnswer, a [badFrame], or that the connection is lost.
func (t *talk) ask(q request) ([]byte, error) {
	if t.place.rtu() {
		return t.askRTU(q)
	}
	return t.askTCP(q)
}

func (t *talk) askTCP(q request) ([]byte, error) {
	t.transaction++
	if err := t.send(tcpRequest(t.transaction, q.unit, q.function, q.address, q.count), t.timeout); err != nil {
		return nil, err
	}
	for frames := 0; ; {
		n, err := tcpFrame(t.got)
		if err != nil {
			return nil, err
		}
		if n == 0 {
			if err := t.more(); err != nil {
				return nil, err
			}
			continue
		}
		frame := t.got[:n]
		t.got = t.got[n:]
		data, ours, err := tcpAnswer(frame, t.transaction, q.unit, q.function, q.count)
		if ours {
			return data, err
		}
		t.refused("an answer to another question", frame)
		if frames++; frames == mostFrames {
			return nil, badFrame{"answers to other questions only", frame}
		}
	}
}

// askRTU drops whatever has come before, since nothing in an answer says which
// question it belongs to, and keeps the silence that parts two frames.
func (t *talk) askRTU(q request) ([]byte, error) {
	time.Sleep(time.Until(t.last.Add(t.silence())))
	if err := t.drop(); err != nil {
		return nil, err
	}
	defer func() { t.last = time.Now() }()
	bytes := 8 + 5 + 2*int(q.count) // there and back
	if err := t.send(rtuRequest(q.unit, q.function, q.address, q.count), t.timeout+time.Duration(bytes)*t.character()); err != nil {
		return nil, err
	}
	for {
		data, whole, err := rtuAnswer(t.got, q.unit, q.function, q.count)
		switch {
		case whole:
			return data, err
		case len(t.got) > mostBytes:
			return nil, badFrame{"bytes without end", t.got}
		}
		if err := t.more(); err != nil {
			if errors.Is(err, errNoAnswer) && len(t.got) > 0 {
				return nil, badFrame{"bytes that are no answer", t.got}
			}
			return nil, err
		}
	}
}

// silence is the time between two frames: 3.5 characters, and 1.75 ms above
// 19,200 baud (MODBUS over Serial Line V1.02, 2.5.1.1, from memory). A serial
// server keeps it itself.
func (t *talk) silence() time.Duration {
	if t.place.host != "" {
		return 0
	}
	if t.place.serial.Speed > 19200 {
		return 1750 * time.Microsecond
	}
	return t.character() * 7 / 2
}

// character is how long one character is on the line, which a slow line needs
// besides the time that the device takes. Of the line behind a serial server
// nothing is known; 9600 baud is usual.
func (t *talk) character() time.Duration {
	if t.place.host != "" {
		return 11 * time.Second / 9600
	}
	return t.place.serial.Character()
}

// drop forgets what has come. A line that never falls quiet is nobody's.
func (t *talk) drop() error {
	t.got = t.got[:0]
	if f, ok := t.wire.(interface{ Flush() error }); ok {
		if err := f.Flush(); err != nil {
			return fmt.Errorf("%w: %w", errLost, err)
		}
		return nil
	}
	for end := time.Now().Add(t.timeout); ; {
		if err := t.wire.SetDeadline(time.Now().Add(time.Millisecond)); err != nil {
			return fmt.Errorf("%w: %w", errLost, err)
		}
		var b [1024]byte
		n, err := t.wire.Read(b[:])
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded):
			return nil
		case err != nil:
			return fmt.Errorf("%w: %w", errLost, err)
		case time.Now().After(end):
			return badFrame{"bytes without end", b[:n]}
		}
	}
}

// send sends a request, and sets the time within which its answer has to come.
func (t *talk) send(frame []byte, within time.Duration) error {
	if err := t.wire.SetDeadline(time.Now().Add(within)); err != nil {
		return fmt.Errorf("%w: %w", errLost, err)
	}
	if _, err := t.wire.Write(frame); err != nil {
		return fmt.Errorf("%w, and the request can't be sent: %w", errLost, err)
	}
	return nil
}

// more waits for more bytes until the deadline that send has set.
func (t *talk) more() error {
	var b [512]byte
	n, err := t.wire.Read(b[:])
	t.got = append(t.got, b[:n]...)
	switch {
	case n > 0:
		return nil
	case errors.Is(err, os.ErrDeadlineExceeded):
		return errNoAnswer
	case err != nil:
		return fmt.Errorf("%w: %w", errLost, err)
	}
	return nil
}
