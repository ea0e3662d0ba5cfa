package meter

import (
	"context"
	"errors"
	"time"

	"gaugewright/internal/sitting"
)

// tryTime bounds a trial: two silences, a dial and what a slow meter needs.
const tryTime = 8 * time.Second

// Try connects a meter once, asks who it is and for one value, and lets go of
// it. The sample may say that the meter can be talked to and has no value to
// give: an overload, or another unit. The error says in a sentence for a person
// what is wrong with the setup, or why the meter isn't there; the sample is
// Away then.
func Try(ctx context.Context, setup Setup) (Identity, sitting.Sample, error) {
	return try(ctx, setup, Options{})
}

func try(ctx context.Context, setup Setup, o Options) (Identity, sitting.Sample, error) {
	m, err := New(setup, o)
	if err != nil {
		return Identity{}, sitting.Sample{Signal: setup.Signal}, err
	}
	within, cancel := context.WithTimeout(ctx, tryTime)
	defer cancel()
	m.last = sitting.Sample{State: sitting.Opening}
	m.each = func(s sitting.Sample) {
		if s.State != sitting.Away || !setup.scpi() { // or else it may still say why
			cancel()
		}
	}
	_ = m.session(within)
	got := m.last
	switch {
	case got.State == sitting.Opening && ctx.Err() != nil:
		return m.Identity(), sitting.Sample{At: m.o.Now(), Signal: setup.Signal}, ctx.Err()
	case got.State == sitting.Opening:
		m.say(sitting.Away, "gave no value in time")
		got = m.last
	}
	if got.State == sitting.Away {
		err = errors.New(got.Words)
	}
	return m.Identity(), got, err
}
