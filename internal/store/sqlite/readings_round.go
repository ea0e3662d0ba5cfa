package sqlite

import "gaugewright/internal/watch"

// Rounded gives a reading as it is kept: as [Readings.Each] will give it.
func Rounded(r watch.Reading) watch.Reading {
	k := rounded(&r)
	as := k.reading(&lineKey{r.Tank, r.Source, r.Signal})
	as.Behind = r.Behind // isn't kept, and is told of now
	return as
}
