package meter

import (
	"context"
	"time"

	"gaugewright/internal/sitting"
)

// stall is how long a line may stand still before its end: far longer than any
// gap between two characters, shorter than silence.
const stall = time.Second

// listen hands on the lines of a device that sends a number per line, until the
// connection ends. Lines closer than half the pace are thinned out.
//
// A serial port stays open while the device is silent, for its unplugging is
// noticed; a network connection is made anew, for its end may not be.
func (m *Meter) listen(ctx context.Context, l *link) error {
	if m.halfway {
		l.cut.skipFirst()
	} else {
		stray, err := l.rest(ctx, quiet)
		if err != nil {
			return err
		}
		if stray { // it was sending already, so this is half a line for all that is known
			if len(l.cut.lines) > 0 {
				l.cut.lines = l.cut.lines[1:]
			} else {
				l.cut.abandon()
			}
		}
	}
	var passed time.Time
	for last := time.Now(); ; {
		line, err := l.line(ctx, min(stall, time.Until(last.Add(silence))))
		switch {
		case err == nil:
			now := time.Now()
			last, m.halfway = now, false
			a := lineOf(line, m.setup.Signal)
			if a.state == sitting.Reading && m.last.State == sitting.Reading && now.Sub(passed) < m.setup.pace()/2 {
				continue
			}
			passed = now
			m.hand(a)
			continue
		case err == errHalf:
			if time.Since(l.heard) >= stall { // it hasn't just begun
				l.cut.abandon()
				m.halfway = true
			}
		case err != errSilent:
			m.halfway = err == errBroken
			return err
		}
		if time.Since(last) < silence {
			continue
		}
		switch {
		case time.Since(l.heard) < silence:
			m.say(sitting.Garbled, "sends characters and no end of a line; look at the baud rate, and set it to send a line per value")
		case !m.setup.serial():
			return errMute
		default:
			m.say(sitting.Away, whyGone(errMute))
		}
		last = time.Now()
	}
}
