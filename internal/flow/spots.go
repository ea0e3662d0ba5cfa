package flow

// spots are levels some ten seconds apart, where they come as often: a float
// that comes free does so between two of them.
type spots struct {
	N   int32 // how many have come, counted on
	Has int32
	All [spotsSize]spot
}

type spot struct {
	At int64
	X  float64 // on the scale, points
}

const (
	spotsSize  = 240
	spotsApart = 9 * second
)

func (p *spots) put(at int64, x float64) {
	if p.Has > 0 && at-p.All[(p.N-1)%spotsSize].At < spotsApart {
		return
	}
	p.All[p.N%spotsSize] = spot{at, x}
	if p.N++; p.N == 1<<30 {
		p.N = spotsSize * (1 << 20)
	}
	p.Has = min(p.Has+1, spotsSize)
}

// content gives a level on the scale as content, both in points.
func (t *Tracker) content(share float64) float64 {
	x := share
	if f := t.config.Content; f != nil {
		x = 100 * f(share/100)
	}
	if t.config.Fills {
		x = -x
	}
	return x
}
