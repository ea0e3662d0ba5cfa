package station

import (
	"context"
	"fmt"
	"os"

	"gaugewright/internal/doors"
	"gaugewright/internal/store/sqlite"
)

// Passes are the links and tokens of this watch.
func (s *Station) Passes() *doors.Register { return s.passes }

// OpenPasses opens the links and tokens of a watch beside the watch itself, which
// may be running: what is changed here counts there at once. The file must be
// there already.
func OpenPasses(ctx context.Context, c Config) (*doors.Register, func() error, error) {
	path := c.path(c.Data)
	if _, err := os.Stat(path); err != nil {
		return nil, nil, fmt.Errorf("the file of the watch can't be found: %w; start the watch once, and it is made", err)
	}
	store, err := sqlite.OpenReadings(ctx, path, sqlite.Options{})
	if err != nil {
		return nil, nil, err
	}
	return doors.NewRegister(store), store.Close, nil
}
