package feed

import (
	"fmt"
	"time"
)

// Duration is a duration in a configuration file, written as "500ms", "5s",
// "10m".
type Duration time.Duration

// UnmarshalText reads a duration; one below 0 is refused.
func (d *Duration) UnmarshalText(text []byte) error {
	v, err := time.ParseDuration(string(text))
	if err != nil || v < 0 {
		return fmt.Errorf(`%q is no duration; expected one like "500ms", "5s" or "10m"`, text)
	}
	*d = Duration(v)
	return nil
}

// MarshalText writes a duration as it is read.
func (d Duration) MarshalText() ([]byte, error) { return []byte(time.Duration(d).String()), nil }
