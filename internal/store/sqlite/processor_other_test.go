//go:build !unix

package sqlite

import "time"

// processor isn't told here.
func processor() time.Duration { return 0 }
