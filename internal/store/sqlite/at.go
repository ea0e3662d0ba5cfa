package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"gaugewright/internal/job"
)

// At gives a job as it was at one of its revisions; see [job.Store].
func (s *Store) At(ctx context.Context, id job.ID, revision int64) (*job.Job, error) {
	var packed []byte
	err := s.row(ctx, "the job as it was", "SELECT document FROM revision WHERE job = ? AND revision = ?", []any{id, revision}, &packed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fmt.Errorf("job %s at revision %d: %w", id, revision, job.ErrNoJob)
	}
	if err != nil {
		return nil, err
	}
	text, err := unpack(packed, job.MaxBytes)
	if err != nil {
		return nil, s.damaged(fmt.Sprintf("revision %d of job %s can't be unpacked: %v", revision, id, err))
	}
	return job.Read(bytes.NewReader(text), fmt.Sprintf("job %s at revision %d in %s", id, revision, s.path))
}
