package sqlite

import "gaugewright/internal/watch"

// Rounded gives a reading as it is kept: as [Readings.Each] will give it.
func Rounded(r watch.Reading) watch.Reading {
	k := rounded(&r)
	return k.reading(&lineKey{r.Tank, r.Source, r.Signal})
}
