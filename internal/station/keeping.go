package station

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"gaugewright/internal/feed"
)

// Bytes is a size: "500MB", "2GB".
type Bytes int64

var (
	size      = regexp.MustCompile(`^(\d+(?:\.\d+)?) ?(kB|MB|GB|TB)?$`)
	sizeUnits = []struct {
		name  string
		bytes float64
	}{{"TB", 1e12}, {"GB", 1e9}, {"MB", 1e6}, {"kB", 1e3}, {"", 1}}
)

// UnmarshalTOML takes bytes as a number, or text with a unit.
func (b *Bytes) UnmarshalTOML(v any) error {
	text := fmt.Sprint(v)
	if m := size.FindStringSubmatch(text); m != nil {
		n, err := strconv.ParseFloat(m[1], 64)
		for _, u := range sizeUnits {
			if u.name == m[2] {
				n *= u.bytes
			}
		}
		if err == nil && n <= 1e15 {
			*b = Bytes(n)
			return nil
		}
	}
	return fmt.Errorf(`%q is no size; expected one like "500MB" or "2GB"`, text)
}

// String gives a size as it is written: "2GB".
func (b Bytes) String() string {
	for _, u := range sizeUnits {
		if n := float64(b) / u.bytes; n >= 1 {
			return strconv.FormatFloat(n, 'g', 4, 64) + u.name
		}
	}
	return "0"
}

// Backup is where backups are made by themselves, and how often.
type Backup struct {
	Folder string        `toml:"folder"` // "": none is made
	Every  feed.Duration `toml:"every"`  // "24h"
	Keep   int           `toml:"keep"`   // how many are kept, the latest; 7
}

// Least values of what is kept.
const (
	leastKeepFor     = time.Hour
	leastKeepMost    = 1e6
	leastBackupEvery = time.Minute
)

// keeping fills in what wasn't stated of backups, and says what can't be.
func (c *Config) keeping() (faults []error) {
	b := &c.Backup
	if b.Folder == "" && (b.Every != 0 || b.Keep != 0) {
		faults = append(faults, fmt.Errorf(`[backup] has no folder; expected one to put backups into, like folder = "/media/stick/gaugewright"`))
	}
	if b.Every == 0 {
		b.Every = feed.Duration(usualBackupEvery)
	}
	if b.Keep == 0 {
		b.Keep = usualBackupKeep
	}
	switch {
	case b.Keep < 1:
		faults = append(faults, fmt.Errorf("[backup] keep is %d; expected 1 or more", b.Keep))
	case time.Duration(b.Every) < leastBackupEvery:
		faults = append(faults, fmt.Errorf(`[backup] every is %v; expected %v or more, like "24h"`, time.Duration(b.Every), leastBackupEvery))
	}
	if d := time.Duration(c.KeepFor); d > 0 && d < leastKeepFor {
		faults = append(faults, fmt.Errorf(`keep_for is %v; expected %v or more, like "8760h" for a year`, d, leastKeepFor))
	}
	if c.KeepMost > 0 && c.KeepMost < leastKeepMost {
		faults = append(faults, fmt.Errorf(`keep_most is %s; expected %s or more, like "2GB"`, c.KeepMost, Bytes(leastKeepMost)))
	}
	return faults
}
