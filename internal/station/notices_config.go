package station

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"gaugewright/internal/alarm"
	"gaugewright/internal/notice"
	"gaugewright/internal/notice/hook"
	"gaugewright/internal/notice/mail"
)

// QuietHours are those in which nobody is called but for what is critical: times of day
// like "22:00". They may go through midnight.
type QuietHours struct {
	From string `toml:"from"`
	To   string `toml:"to"`
}

// timeOfDay reads "22:00".
func timeOfDay(key, text string) (time.Duration, error) {
	t, err := time.Parse("15:04", text)
	if err != nil {
		return 0, fmt.Errorf(`[quiet]: %s is %q; expected a time of day like "22:00"`, key, text)
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, nil
}

// quiet gives the quiet hours of the configuration.
func (c *Config) quiet(zone *time.Location) (alarm.Quiet, error) {
	q := alarm.Quiet{Zone: zone}
	if c.Quiet == nil {
		return q, nil
	}
	var err1, err2 error
	q.From, err1 = timeOfDay("from", c.Quiet.From)
	q.To, err2 = timeOfDay("to", c.Quiet.To)
	if err := errors.Join(err1, err2); err != nil {
		return alarm.Quiet{Zone: zone}, err
	}
	return q, nil
}

// quietHours are those in which nobody is called but for what is critical.
func (s *Station) quietHours() alarm.Quiet {
	q, err := s.config.quiet(s.o.Zone)
	if err != nil { // a configuration that was looked at has none
		s.o.Log.Error("the quiet hours aren't kept", "error", err)
	}
	return q
}

// outward is one way that is configured: how to make its kind, and for whom it is.
type outward struct {
	way      notice.Way
	language string
	only     []string
}

// outwards makes the ways that are configured, none of which connects yet.
func (c *Config) outwards() (list []outward, err error) {
	var faults []error
	for _, n := range slices.Sorted(maps.Keys(c.Mail)) {
		m := c.Mail[n]
		m.CA, m.PasswordFile = c.path(m.CA), c.path(m.PasswordFile)
		ways, err := mail.New("mail/"+n, m)
		if err != nil {
			faults = append(faults, fmt.Errorf("[mail.%s]: %w", n, err))
		}
		for _, w := range ways {
			list = append(list, outward{w, m.Language, m.Only})
		}
	}
	for _, n := range slices.Sorted(maps.Keys(c.Hook)) {
		h := c.Hook[n]
		h.CA, h.SecretFile, h.TokenFile = c.path(h.CA), c.path(h.SecretFile), c.path(h.TokenFile)
		w, err := hook.New("hook/"+n, h)
		if err != nil {
			faults = append(faults, fmt.Errorf("[hook.%s]: %w", n, err))
			continue
		}
		list = append(list, outward{w, h.Language, h.Only})
	}
	for _, o := range list {
		for _, p := range o.only {
			if !slices.Contains(notice.Priorities, p) {
				faults = append(faults, fmt.Errorf("%s: only has %q; expected some of %s", o.way.Name(), p, strings.Join(notice.Priorities, ", ")))
			}
		}
	}
	return list, errors.Join(faults...)
}

// checkNotices says what is wrong with how people are told.
func (c *Config) checkNotices() error {
	_, err1 := c.outwards()
	_, err2 := c.quiet(nil)
	if c.Push != nil {
		if err := c.Push.Check(); err != nil {
			err2 = errors.Join(err2, fmt.Errorf("[push]: %w", err))
		}
	}
	return errors.Join(err1, err2)
}
