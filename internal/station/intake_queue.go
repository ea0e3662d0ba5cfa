package station

import "gaugewright/internal/watch"

// call is what was handed over at once.
type call struct {
	readings []watch.Reading
	done     func(error) // nil: nobody is told
	source   string      // of what nobody is told of
	gone     bool        // it was taken back, or dropped
}

// queue is what waits to be kept, in the order in which it came. Its calls are
// numbered from 0 on.
type queue struct {
	list     []call
	first    uint64 // number of the first in the list
	writing  int    // so many of the first are being written
	oldest   uint64 // none offered comes before this one
	readings int    // that wait, those being written among them
	offered  int    // of those, offered
}

// calls is how many calls wait.
func (q *queue) calls() int { return len(q.list) }

// add puts a call at the end and gives its number.
func (q *queue) add(c call) uint64 {
	q.list = append(q.list, c)
	q.readings += len(c.readings)
	if c.done == nil {
		q.offered += len(c.readings)
	}
	return q.first + uint64(len(q.list)) - 1
}

// take gives the calls to be written next and gathers their readings, up to most
// where they aren't one call's.
func (q *queue) take(into []watch.Reading, most int) (calls []call, readings []watch.Reading) {
	readings = into[:0]
	n := 0
	for ; n < len(q.list); n++ {
		c := &q.list[n]
		if n > 0 && len(readings)+len(c.readings) > most {
			break
		}
		readings = append(readings, c.readings...)
	}
	q.writing = n
	return q.list[:n], readings
}

// written takes out what was being written, whether it was kept or not.
func (q *queue) written() {
	for i := range q.list[:q.writing] {
		q.forget(&q.list[i])
		q.list[i] = call{}
	}
	q.list = q.list[q.writing:]
	if len(q.list) == 0 {
		q.list = nil // what a flood needed needn't be kept
	}
	q.first += uint64(q.writing)
	q.writing = 0
}

// forget takes a call's readings off the counts.
func (q *queue) forget(c *call) {
	q.readings -= len(c.readings)
	if c.done == nil && !c.gone {
		q.offered -= len(c.readings)
	}
}

// drop takes the readings of a call back, unless they are being written or are
// gone.
func (q *queue) drop(number uint64) {
	if number < q.first+uint64(q.writing) {
		return
	}
	c := &q.list[number-q.first]
	q.forget(c)
	c.readings, c.gone = nil, true
}

// dropOffered drops the oldest call that was offered and isn't being written. It
// tells whose it was and how many readings it had; none where there is none.
func (q *queue) dropOffered() (source string, n int) {
	for q.oldest = max(q.oldest, q.first+uint64(q.writing)); q.oldest < q.first+uint64(len(q.list)); q.oldest++ {
		c := &q.list[q.oldest-q.first]
		if c.done == nil && !c.gone {
			source, n = c.source, len(c.readings)
			q.drop(q.oldest)
			return source, n
		}
	}
	return "", 0
}
