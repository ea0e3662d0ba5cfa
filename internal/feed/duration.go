package feed

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Duration is a duration in a configuration file, written as "500ms", "5s",
// "10m", or in whole days, "30d".
type Duration time.Duration

// UnmarshalText reads a duration; one below 0 is refused.
func (d *Duration) UnmarshalText(text []byte) error {
	v, err := time.ParseDuration(string(text))
	if days, ok := strings.CutSuffix(string(text), "d"); ok {
		var n uint64
		if n, err = strconv.ParseUint(days, 10, 16); err == nil {
			v = time.Duration(n) * 24 * time.Hour
		}
	}
	if err != nil || v < 0 {
		return fmt.Errorf(`%q is no duration; expected one like "500ms", "5s", "10m" or "30d"`, text)
	}
	*d = Duration(v)
	return nil
}

// MarshalText writes a duration as it is read.
func (d Duration) MarshalText() ([]byte, error) { return []byte(time.Duration(d).String()), nil }
