package modbus

import (
	"bytes"
	"errors"
	"fmt"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// round is one time through all the requests.
type round struct {
	talk     *talk
	to       feed.Sink
	source   string
	readings []watch.Reading
	answered bool
	silent   [256]bool // units that haven't answered in this round
}

// ask asks every request and gives what to ask the next time: where a device
// refuses registers asked for together, each is asked for by itself from then
// on. An error means that the connection is of no more use.
func (r *round) ask(requests []request) (next []request, err error) {
	var why error
	for n := 0; n < len(requests); n++ {
		q := requests[n]
		if r.silent[q.unit] {
			next = append(next, q)
			continue
		}
		data, err := r.talk.ask(q)
		now := time.Now()
		var refusal exception
		var bad badFrame
		switch {
		case err == nil:
			r.take(q, data, now)
		case errors.As(err, &refusal):
			if (refusal == 2 || refusal == 3) && len(q.items) > 1 {
				requests = append(append(requests[:n:n], q.split()...), requests[n+1:]...)
				n--
				continue
			}
			r.refuse(q, refusal, now)
		default:
			why = fmt.Errorf("unit %d: %w", q.unit, err)
			switch {
			case errors.As(err, &bad):
				r.to.Refused(r.source, bad.why, bytes.Clone(bad.what))
			case errors.Is(err, errNoAnswer):
				r.to.Refused(r.source, errNoAnswer.Error(), fmt.Appendf(nil, "unit %d", q.unit))
			default:
				return append(next, requests[n:]...), why
			}
			if bad.why != "" && !r.talk.place.rtu() {
				return append(next, requests[n:]...), why
			}
			if r.talk.secondChance(q.unit) {
				n--
				continue
			}
			r.silent[q.unit] = true
			next = append(next, q)
			continue
		}
		r.answered = true
		r.talk.answering[q.unit] = true
		next = append(next, q)
	}
	if !r.answered {
		return next, why
	}
	return next, nil
}

func (r *round) take(q request, data []byte, now time.Time) {
	for _, i := range q.items {
		b := q.registers(i, data)
		v, said, why := i.meaning.value(b)
		if why != "" {
			r.to.Refused(r.source, why, fmt.Appendf(nil, "%s: % x", i.tank, b))
		}
		r.read(i, v, said, now)
	}
}

// refuse counts an exception. The tank has no value then, unless the device
// only asks for patience or wasn't reached.
func (r *round) refuse(q request, e exception, now time.Time) {
	for _, i := range q.items {
		r.to.Refused(r.source, e.Error(), fmt.Appendf(nil, "%s: exception %d; %s", i.tank, byte(e), e.remedy()))
		if !e.passing() {
			r.read(i, 0, watch.Unavailable, now)
		}
	}
}

func (r *round) read(i item, v float64, said watch.Said, now time.Time) {
	r.readings = append(r.readings, watch.Reading{Tank: i.tank, Source: r.source, Time: now, Arrived: now, Clock: watch.ArrivalClock, Signal: i.meaning.signal, Said: said, Value: v})
}
