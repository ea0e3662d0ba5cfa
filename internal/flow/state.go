package flow

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"math"

	"gaugewright/internal/outlook"
)

// The bytes for a store: a name with its version, the state, events, spells of use, the
// model's bytes, and a check sum.
const stateName = "gwflow2\n"

// MarshalBinary gives all that is known, for a store; UnmarshalBinary takes it back
// into a tracker that was made with the same configuration. Taking levels again that
// were taken before it was given changes nothing. Of the events the last 192 are in it.
func (t *Tracker) MarshalBinary() ([]byte, error) {
	model, err := t.model.MarshalBinary()
	if err != nil {
		return nil, err
	}
	s := t.s
	events := t.events
	if n := len(events) - mostStored; n > 0 {
		c := Tracker{s: t.s, events: append([]record(nil), events...)}
		c.forget(n)
		s, events = c.s, c.events
	}
	out := []byte(stateName)
	uses := t.drawn[max(0, len(t.drawn)-mostUses):]
	for _, part := range []any{&s, int32(len(events)), events, int32(len(uses)), uses, int32(len(model))} {
		if out, err = binary.Append(out, binary.LittleEndian, part); err != nil {
			return nil, err
		}
	}
	out = append(out, model...)
	return binary.LittleEndian.AppendUint32(out, crc32.ChecksumIEEE(out)), nil
}

// UnmarshalBinary is the reverse. Damaged bytes give an error and change nothing.
func (t *Tracker) UnmarshalBinary(b []byte) error {
	if len(b) < len(stateName)+4 || string(b[:len(stateName)]) != stateName {
		return errors.New("what is kept of a tank's events begins otherwise than expected; it is of another version, or damaged")
	}
	body, sum := b[:len(b)-4], binary.LittleEndian.Uint32(b[len(b)-4:])
	if crc32.ChecksumIEEE(body) != sum {
		return errors.New("what is kept of a tank's events is damaged; its check sum doesn't agree")
	}
	r := bytes.NewReader(body[len(stateName):])
	var s state
	var n int32
	read := func(v any) error {
		if err := binary.Read(r, binary.LittleEndian, v); err != nil {
			return fmt.Errorf("what is kept of a tank's events ends too early: %w", err)
		}
		return nil
	}
	if err := read(&s); err != nil {
		return err
	}
	if err := read(&n); err != nil {
		return err
	}
	if n < 0 || n > mostEvents {
		return fmt.Errorf("what is kept of a tank's events has %d of them; expected 0 to %d", n, mostEvents)
	}
	events := make([]record, n)
	if err := read(events); err != nil {
		return err
	}
	if err := read(&n); err != nil {
		return err
	}
	if n < 0 || n > mostUses {
		return fmt.Errorf("what is kept of a tank's events has %d spells of use; expected 0 to %d", n, mostUses)
	}
	uses := make([]drawn, n)
	if err := read(uses); err != nil {
		return err
	}
	if err := read(&n); err != nil {
		return err
	}
	if int(n) != r.Len() {
		return fmt.Errorf("what is kept of a tank's use has %d bytes; expected %d", r.Len(), n)
	}
	if err := s.check(events); err != nil {
		return err
	}
	for _, d := range uses {
		if !(d.P > 0.5 && d.P <= 1) || !(d.Amount > 0 && d.Amount <= 100) || !(d.U >= 0 && d.U <= 100) || d.End < d.Start {
			return errors.New("what is kept of a tank's events has a spell of use that can't be")
		}
	}
	m := outlook.New(t.config.ahead())
	if err := m.UnmarshalBinary(body[len(body)-int(n):]); err != nil {
		return err
	}
	t.s, t.events, t.drawn, t.model, t.now = s, events, uses, m, uptodate{}
	return nil
}

// check refuses a state that can't be.
func (s *state) check(events []record) error {
	for _, i := range []int32{s.Rise.Event, s.Rise.After.Event, s.Fall.Event, s.Spell.Event, s.Spell.Prior, s.Leaking.Event} {
		if i < -1 || int(i) >= len(events) {
			return fmt.Errorf("what is kept of a tank's events names event %d of %d", i, len(events))
		}
	}
	for i := range events {
		if w := events[i].What; w < aRefill || w > aFault {
			return fmt.Errorf("what is kept of a tank's events has one of kind %d; expected %d to %d", w, aRefill, aFault)
		}
	}
	if s.Blocks.N < 0 || s.Blocks.Has < 0 || s.Blocks.Has > ringSize || s.Blocks.Has > s.Blocks.N && s.Blocks.N < ringSize ||
		s.Bins.Has < 0 || s.Bins.Has > binsSize || s.Half.N < 0 || s.Half.N > 8 {
		return errors.New("what is kept of a tank's events has counts that can't be")
	}
	for _, v := range []float64{s.Noise, s.Cadence, s.Rise.Sum, s.Fall.LogRate, s.Ledger.Rate, s.Ledger.X, s.Last.X} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return errors.New("what is kept of a tank's events has a figure that is no number")
		}
	}
	return nil
}
