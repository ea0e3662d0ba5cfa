package sqlite_test

import (
	"path/filepath"
	"testing"

	"gaugewright/internal/job"
	"gaugewright/internal/store/sqlite"
	"gaugewright/internal/store/storetest"
)

func TestStore(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t *testing.T) job.Store {
		return opened(t, filepath.Join(t.TempDir(), "jobs.db"), sqlite.Options{})
	})
}
