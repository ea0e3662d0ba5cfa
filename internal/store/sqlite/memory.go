package sqlite

import (
	"fmt"
	"strings"
	"sync"

	"gaugewright/internal/job"
)

// remembered is how many jobs are remembered as they were last read: reading a
// job file against its schema takes some milliseconds, and a fitter's pages ask
// for the same job again and again.
const remembered = 32

// memory keeps the last jobs that were read, each by the very text it was read
// from, so that it can't be out of date.
type memory struct {
	mu   sync.Mutex
	jobs map[job.ID]*reading
	tick int64
}

// reading is a job file and what it says. The job is never changed, nor handed
// out.
type reading struct {
	text string
	job  *job.Job
	used int64
}

// decode gives what a stored job file says, as the caller's own.
func (s *Store) decode(id job.ID, text string) (*job.Job, error) {
	if j := s.decoded.find(id, text); j != nil {
		return clone(j), nil
	}
	j, err := job.Read(strings.NewReader(text), fmt.Sprintf("job %s in %s", id, s.path))
	if err != nil {
		return nil, err
	}
	s.decoded.add(id, text, j)
	return clone(j), nil
}

func (m *memory) find(id job.ID, text string) *job.Job {
	m.mu.Lock()
	defer m.mu.Unlock()
	r := m.jobs[id]
	if r == nil || r.text != text {
		return nil
	}
	m.tick++
	r.used = m.tick
	return r.job
}

func (m *memory) add(id job.ID, text string, j *job.Job) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.jobs == nil {
		m.jobs = make(map[job.ID]*reading)
	}
	m.tick++
	m.jobs[id] = &reading{text, j, m.tick}
	if len(m.jobs) > remembered {
		oldest := id
		for other, r := range m.jobs {
			if r.used < m.jobs[oldest].used {
				oldest = other
			}
		}
		delete(m.jobs, oldest)
	}
}
