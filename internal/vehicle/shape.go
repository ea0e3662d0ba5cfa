package vehicle

import (
	"sync"

	"gaugewright/internal/quantity"
	"gaugewright/internal/tank"
)

// nodes is into how many equal volumes a tank is divided for its table.
const nodes = 2048

// shape is a tank's inside as a table of heights over equal steps of volume,
// linear between them. A box is exact. In a lying cylinder heights are off by
// less than 0.1 % of the diameter where the level is within 1 % of floor or
// roof, and by far less elsewhere; volumes, which are the truth, don't come
// from it.
type shape struct {
	capacity float64 // m³
	tall     float64 // m
	long     float64 // m, along x
	heights  [nodes + 1]float64
	surfaces [nodes + 1]float64 // m²
}

// shapes keeps the tables that were made: ten thousand vehicles of one kind have
// one.
var shapes sync.Map

func newShape(s Shape) (*shape, error) {
	if made, ok := shapes.Load(s); ok {
		return made.(*shape), nil
	}
	made, err := makeShape(s)
	if err == nil {
		shapes.Store(s, made)
	}
	return made, err
}

func makeShape(s Shape) (*shape, error) {
	t, err := s.solid()
	if err != nil {
		return nil, err
	}
	levels := t.Ready()
	low, high := t.Box()
	out := &shape{capacity: float64(t.Capacity()), tall: float64(t.Height()), long: high.X - low.X}
	for i := range out.heights {
		h, err := levelAt(levels, quantity.CubicMetre(out.capacity*float64(i)/nodes), i)
		if err != nil {
			return nil, err
		}
		out.heights[i] = float64(h)
		out.surfaces[i] = levels.Surface(h)
	}
	out.heights[0], out.heights[nodes] = 0, out.tall
	return out, nil
}

func levelAt(l *tank.Levels, v quantity.CubicMetre, i int) (quantity.Metre, error) {
	low, high := l.Reach()
	switch i {
	case 0:
		return low, nil
	case nodes:
		return high, nil
	}
	return l.HeightOf(v)
}

// height gives the height of the surface at a share of the capacity.
func (s *shape) height(share float64) float64 {
	x := min(max(share, 0), 1) * nodes
	i := min(int(x), nodes-1)
	return s.heights[i] + (x-float64(i))*(s.heights[i+1]-s.heights[i])
}

// surface gives the free surface in m² at a share of the capacity. Where the
// wall closes in on nothing it is held to what it is a little way off.
func (s *shape) surface(share float64) float64 {
	i := int(min(max(share, 0), 1)*nodes + 0.5)
	return s.surfaces[min(max(i, nodes/64), nodes-nodes/64)]
}

// share gives the share of the capacity below a height.
func (s *shape) share(h float64) float64 {
	if h <= 0 {
		return 0
	}
	if h >= s.tall {
		return 1
	}
	low, high := 0, nodes
	for high-low > 1 {
		if mid := (low + high) / 2; s.heights[mid] <= h {
			low = mid
		} else {
			high = mid
		}
	}
	return (float64(low) + (h-s.heights[low])/(s.heights[low+1]-s.heights[low])) / nodes
}
