package meter

import (
	"context"
	"time"

	"gaugewright/internal/sitting"
)

// listen hands on the lines of a device that sends a number per line, until the
// connection ends. Lines closer than half the pace are thinned out.
//
// A serial port stays open while the device is silent, for its unplugging is
// noticed; a network connection is made anew, for its end may not be.
func (m *Meter) listen(ctx context.Context, l *link) error {
	defer func() { m.halfway = l.cut.partial() || l.cut.skip }()
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
				l.cut.skipRest()
			}
		}
	}
	var passed time.Time
	for last := time.Now(); ; {
		line, err := l.line(ctx, time.Until(last.Add(silence)))
		switch {
		case err == nil:
			now := time.Now()
			last = now
			a := lineOf(line, m.setup.Signal)
			if a.state == sitting.Reading && m.last.State == sitting.Reading && now.Sub(passed) < m.setup.pace()/2 {
				continue
			}
			passed = now
			m.hand(a)
			continue
		case err != errSilent && err != errHalf:
			return err
		case err == errSilent:
			err = errMute
		}
		switch {
		case time.Since(l.heard) < stall:
			m.say(sitting.Garbled, "sends characters and no end of a line; look at the baud rate, and set it to send a line per value")
		case !m.setup.serial():
			return err
		default:
			m.say(sitting.Away, whyGone(err))
		}
		last = time.Now()
	}
}
