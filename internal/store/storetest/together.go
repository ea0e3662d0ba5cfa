package storetest

import (
	"fmt"
	"strings"
	"sync"

	"gaugewright/internal/job"
)

// takers has many take readings at once on one job: none is lost, none is there
// twice, and the revisions rise one by one.
func (s *suite) takers() {
	const many, each = 8, 50
	j := Sample(s)
	j.Tanks = j.Tanks[:1]
	j.Tanks[0].Bench.Readings = nil
	id := s.put(j, day)
	var mu sync.Mutex
	revisions := map[int64]bool{}
	var wg sync.WaitGroup
	for who := range many {
		wg.Go(func() {
			for n := range each {
				// What a taker takes is told by its ohms. Readings are put away
				// by tens as a line of the note, as a job of hundreds takes long.
				c := take(fmt.Sprint("taker ", who, " takes ", n), float64(who*each+n))
				inner := c.Do
				c.Do = func(j *job.Job) error {
					b := &j.Tanks[0].Bench
					if len(b.Readings) == 10 {
						for _, r := range b.Readings {
							j.Note += fmt.Sprint(" ", r.Ohm)
						}
						b.Readings = nil
					}
					return inner(j)
				}
				k, err := s.store.Change(s.ctx, id, c)
				if err != nil {
					s.Error(err)
					return
				}
				mu.Lock()
				if revisions[k.Revision] {
					s.Errorf("revision %d was given twice", k.Revision)
				}
				revisions[k.Revision] = true
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	k := s.get(id)
	if k.Revision != many*each+1 {
		s.Errorf("revision %d; want %d", k.Revision, many*each+1)
	}
	for n := int64(2); n <= k.Revision; n++ {
		if !revisions[n] {
			s.Errorf("nobody was given revision %d", n)
		}
	}
	found := map[string]int{}
	for _, ohm := range strings.Fields(strings.TrimPrefix(k.Job.Note, j.Note)) {
		found[ohm]++
	}
	for _, r := range k.Job.Tanks[0].Bench.Readings {
		found[fmt.Sprint(r.Ohm)]++
	}
	for i := range many * each {
		if n := found[fmt.Sprint(i)]; n != 1 {
			s.Errorf("reading %d is there %d times", i, n)
		}
	}
	list, err := s.store.History(s.ctx, id, 1000)
	if err != nil || len(list) != many*each {
		s.Errorf("%d changes in the history, %v", len(list), err)
	}
}

// sameKey has many ask for the same change at once.
func (s *suite) sameKey() {
	id := s.begin("1", day)
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			if k, err := s.store.Change(s.ctx, id, take("one", 45)); err != nil || k.Revision != 2 {
				s.Errorf("%+v, %v; want revision 2", k, err)
			}
		})
	}
	wg.Wait()
	if k := s.get(id); k.Revision != 2 || len(k.Job.Tanks[0].Bench.Readings) != 3 {
		s.Errorf("revision %d with %d readings", k.Revision, len(k.Job.Tanks[0].Bench.Readings))
	}
}
