package station

import "gaugewright/internal/feed"

// Bytes is a size: "500MB", "2GB".
type Bytes int64

// Backup is where backups are made by themselves, and how often.
type Backup struct {
	Folder string        `toml:"folder"` // "": none is made
	Every  feed.Duration `toml:"every"`  // "24h"
	Keep   int           `toml:"keep"`   // how many are kept, the latest; 7
}
