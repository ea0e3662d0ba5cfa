package station

import (
	"errors"
	"fmt"

	"gaugewright/internal/feed"
	"gaugewright/internal/feed/can"
	"gaugewright/internal/feed/file"
	"gaugewright/internal/feed/lines"
	"gaugewright/internal/feed/modbus"
	"gaugewright/internal/feed/mqtt"
	"gaugewright/internal/feed/xdr"
)

// build makes the feeds that are configured; where there is none at all, the
// broker inside at its usual address.
func (s *Station) build() error {
	c := &s.config
	var faults []error
	if c.alone() {
		c.MQTT = &mqtt.Config{}
	}
	if c.MQTT != nil {
		c.MQTT.Signal, c.MQTT.Now = s.signal, s.o.Now
		err := s.brokerDoors(c.MQTT)
		var f *mqtt.Broker
		if err == nil {
			f, err = mqtt.NewBroker(*c.MQTT, s.o.Log)
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("[mqtt]: %w", err))
		} else {
			s.add(f)
			s.out = append(s.out, f)
		}
	}
	faults = append(faults,
		addAll(s, "outside", c.Outside, func(name string, o mqtt.OutsideConfig) (feed.Feed, error) {
			for _, p := range []*string{&o.PasswordFile, &o.CA, &o.Cert, &o.Key} {
				*p = c.path(*p)
			}
			f, err := mqtt.NewOutside("outside/"+name, o)
			if err == nil {
				s.out = append(s.out, f)
			}
			return f, err
		}),
		addAll(s, "modbus", c.Modbus, func(name string, c modbus.Config) (feed.Feed, error) { return modbus.New(name, c) }),
		addAll(s, "can", c.CAN, func(name string, b can.Config) (feed.Feed, error) {
			b.Log = c.path(b.Log)
			return can.New("can/"+name, b)
		}),
		addAll(s, "xdr", c.XDR, func(name string, c xdr.Config) (feed.Feed, error) { return xdr.New("xdr/"+name, c) }),
		addAll(s, "lines", c.Lines, func(name string, c lines.Config) (feed.Feed, error) { return lines.New(name, c) }),
		addAll(s, "file", c.File, func(name string, f file.Config) (feed.Feed, error) {
			f.Path = c.path(f.Path)
			return file.New(name, f)
		}),
	)
	if c.HTTP != nil {
		faults = append(faults, s.buildHTTP())
	}
	return errors.Join(faults...)
}

// alone says whether nothing is configured by which readings could come in.
func (c *Config) alone() bool {
	return c.MQTT == nil && c.HTTP == nil && len(c.Outside)+len(c.Modbus)+len(c.CAN)+len(c.XDR)+len(c.Lines)+len(c.File) == 0
}
