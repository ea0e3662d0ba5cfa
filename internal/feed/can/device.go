package can

import (
	"fmt"
	"strconv"
	"time"

	"gaugewright/internal/feed"
	"gaugewright/internal/watch"
)

// device is one of those that tell the same level.
type device struct {
	address uint8
	last    time.Time
	source  string // what its readings bear: "can/boat", and "can/boat/2" of a second one
}

const (
	// mostDevices may tell one level at a time.
	mostDevices = 4
	// gone is how long a device has been silent whose place another may take: four
	// times the pace of PGN 127505. A device that takes another address on the bus
	// is so the same source again, and doesn't look like one more each time.
	gone = 10 * time.Second
)

// source is what readings of a level bear that come from an address. It is "" for
// those of one device too many, and where another device tells the level and this
// one has never had a value: SPN 38 stands in the frames of all who tell SPN 96.
func (l *listener) source(w *wanted, from uint8, said watch.Said, at time.Time, to feed.Sink) string {
	var silent *device
	for i := range w.devices {
		d := &w.devices[i]
		if d.address == from {
			d.last = at
			return d.source
		}
		if silent == nil && at.Sub(d.last) >= gone {
			silent = d
		}
	}
	switch {
	case said == watch.Unavailable && len(w.devices) == 0:
		return l.name
	case said == watch.Unavailable:
		return ""
	case silent != nil:
		silent.address, silent.last = from, at
		return silent.source
	case len(w.devices) == mostDevices:
		to.Refused(l.name, "level that four other devices tell too", fmt.Appendf(nil, "%s: address %d", w.tank, from))
		return ""
	}
	d := device{from, at, l.name}
	if n := len(w.devices); n > 0 {
		d.source += "/" + strconv.Itoa(n+1)
		to.Refused(l.name, "level that another device tells too, which was taken; name one by its source",
			fmt.Appendf(nil, "%s: addresses %d and %d", w.tank, w.devices[0].address, from))
	}
	w.devices = append(w.devices, d)
	return d.source
}
