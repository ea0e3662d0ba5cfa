package station

import (
	"errors"
	"fmt"
	"io/fs"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/web"
)

// What kind of failing a disk's is goes by the error's kind, and not by its words.
func TestDiskOf(t *testing.T) {
	for _, c := range []struct {
		err  error
		want web.Disk
	}{
		{sqlite.ErrNoRoom, web.DiskFull}, {sqlite.ErrFaulty, web.DiskFaulty}, {sqlite.ErrReadOnly, web.DiskReadOnly}, {fs.ErrPermission, web.DiskReadOnly},
		{sqlite.ErrNotOpen, web.DiskFails}, {job.ErrFull, web.DiskFails}, {errors.New("database or disk is full"), web.DiskFails},
	} {
		for _, err := range []error{c.err, fmt.Errorf("the readings: %w", c.err)} {
			if got := diskOf(err); got != c.want {
				t.Errorf("%v: %v; expected %v", err, got, c.want)
			}
		}
	}
}
