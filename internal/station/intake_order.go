package station

import (
	"cmp"
	"slices"

	"gaugewright/internal/watch"
)

// order puts readings that were kept together in the order of their times, those
// of one time as they came. Many sources that send at once come in as they are
// read, each with some of its own; a tank that has several is watched with far
// less going back in time when these are put in order first.
type order struct {
	keys  []key
	spare []watch.Reading
}

type key struct {
	at    int64 // ns since 1970
	place int
}

// put puts a list in order and gives it.
func (o *order) put(list []watch.Reading) []watch.Reading {
	o.keys = o.keys[:0]
	sorted := true
	for i := range list {
		// A time before 1678 or after 2262 wraps; the watch refuses it wherever it
		// stands.
		k := key{list[i].Time.UnixNano(), i}
		sorted = sorted && (i == 0 || k.at >= o.keys[i-1].at)
		o.keys = append(o.keys, k)
	}
	if sorted {
		return list
	}
	slices.SortFunc(o.keys, func(a, b key) int { return cmp.Or(cmp.Compare(a.at, b.at), cmp.Compare(a.place, b.place)) })
	o.spare = o.spare[:0]
	for _, k := range o.keys {
		o.spare = append(o.spare, list[k.place])
	}
	return o.spare
}
