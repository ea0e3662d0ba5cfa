//go:build unix

package sqlite

import (
	"syscall"
	"time"
)

// processor gives the processor time that this process has taken.
func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
