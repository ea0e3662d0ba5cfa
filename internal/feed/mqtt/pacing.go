package mqtt

import "time"

// pacing finds out whether who sends waits for acknowledgements: whether it sends
// right after them, and then nothing until the next. How many messages it has on
// their way at most is its own business, and few tell; many have twenty, and some
// one. Acknowledgements wait for the disk, for which it would wait each time.
type pacing struct {
	acked  time.Time // when acknowledgements went out last
	sent   time.Time // when a message came last
	since  int       // messages since acknowledgements went out
	stuck  bool      // it waits, as far as is known
	window int       // as soon as so many are on their way
}

// rightAfter is how soon after an acknowledgement the next message comes that
// waited for it.
const rightAfter = 250 * time.Millisecond

// came notes messages that came, so that so many wait for their acknowledgement,
// and says whether their sender waits for it. most is how many may be on their way;
// 0: that isn't known.
func (p *pacing) came(now time.Time, n, waiting, most int) (stuck bool) {
	p.sent = now
	p.since += n
	return p.stuck && waiting >= p.window || most > 0 && waiting >= most/2
}

// acks notes that acknowledgements go out while so many messages wait.
func (p *pacing) acks(now time.Time, waiting int) {
	if long := now.Sub(p.acked); !p.acked.IsZero() && long >= 2*rightAfter {
		if p.stuck = p.since > 0 && p.sent.Sub(p.acked) < rightAfter; p.stuck {
			p.window = waiting
		}
	}
	p.acked, p.since = now, 0
}
