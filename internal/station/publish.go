package station

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"time"

	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/quantity"
	"gaugewright/internal/watch"
)

// looksEvery is how often the watch looks whether a level has grown too old.
const looksEvery = 250 * time.Millisecond

// publishing publishes levels until the context ends: at once where the status
// of one changes, and otherwise not more often than is configured.
func (s *Station) publishing(ctx context.Context) error {
	ticks := time.NewTicker(looksEvery)
	defer ticks.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-ticks.C:
		case <-s.changed:
		}
		s.turned.Store(int64(time.Since(s.begun)))
		now := s.o.Now()
		for _, n := range s.names {
			if level, due := s.due(s.tanks[n], now); due {
				s.publish(level)
			}
			s.publishFlows(s.tanks[n])
		}
	}
}

// due says whether a tank's level is to be published now, and takes it as done.
func (s *Station) due(t *tank, now time.Time) (watch.Level, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.any {
		return watch.Level{}, false
	}
	level := t.watch.At(now)
	s.watches(t, level)
	if level.Fault == watch.NoReading {
		s.followed(t, t.gap(now))
	}
	changed := t.sent.IsZero() || level.Status != t.published.Status || level.Fault != t.published.Fault || level.Shown != t.published.Shown
	ago := now.Sub(t.sent) // below 0 where the clock was set back
	if !changed && (!t.dirty || ago >= 0 && ago < time.Duration(s.config.PublishEvery)) {
		return level, false
	}
	t.published, t.sent, t.dirty = level, now, false
	return level, true
}

// publish hands a level to all who publish. What can't be sent now they keep, the
// latest of each topic, and send it when they can.
func (s *Station) publish(level watch.Level) {
	payload, err := json.Marshal(level.PublishIn(s.o.Zone))
	if err != nil {
		s.o.Log.Error("a level can't be written", "tank", level.Tank, "error", err)
		return
	}
	s.print(level, payload)
	for _, out := range s.out {
		if err := out.Publish(mqtt.LevelTopic(level.Tank), payload, true); err != nil {
			s.o.Log.Warn("a level wasn't published", "tank", level.Tank, "error", err)
		}
	}
}

// print prints a level for someone at a terminal.
func (s *Station) print(level watch.Level, payload []byte) {
	if s.o.Out == nil {
		return
	}
	line := string(payload)
	if !s.o.JSON {
		line = s.line(level)
	}
	if _, err := fmt.Fprintln(s.o.Out, line); err != nil {
		s.o.Log.Warn("a level can't be printed", "error", err)
	}
}

// line is a level in a line: when, which tank, the level with its interval, and
// what is amiss.
func (s *Station) line(level watch.Level) string {
	shown := "no level"
	if level.Shown {
		shown = fmt.Sprintf("%5.1f %% (%.1f to %.1f)", 100*float64(level.Share), 100*float64(level.Low), 100*float64(level.High))
		if v := level.Volume.Mid; !math.IsNaN(v) {
			shown += ", " + quantity.CubicMetre(v).String()
		}
	}
	text := fmt.Sprintf("%s  %-16s %s", level.Time.In(s.o.Zone).Format("15:04:05"), s.tanks[level.Tank].about.Label.Label, shown)
	if reason := level.Reason(s.o.Zone); reason != "" {
		text += "; " + level.Status.String() + ": " + reason
	}
	return text
}
