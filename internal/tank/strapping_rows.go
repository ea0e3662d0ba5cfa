package tank

import (
	"errors"
	"fmt"
	"math"

	"gaugewright/internal/quantity"
)

// strappingRows checks the rows of a table.
func strappingRows(heights, volumes []float64) error {
	n := len(heights)
	if len(volumes) != n {
		return fmt.Errorf("the strapping table has %d heights and %d volumes; expected as many of each", n, len(volumes))
	}
	if n < 2 {
		return fmt.Errorf("the strapping table has too few rows (%d); expected 2 or more", n)
	}
	for i := range n {
		h, v := heights[i], volumes[i]
		switch {
		case !(math.Abs(h) <= 1e6):
			return fmt.Errorf("row %d of the strapping table has a height of %g mm; expected a number", i+1, h*1000)
		case !(math.Abs(v) <= 1e9):
			return fmt.Errorf("row %d of the strapping table has a volume of %g L; expected a number", i+1, v*1000)
		case h < 0:
			return fmt.Errorf("row %d of the strapping table has a height of %s; expected 0 mm or more, from the lowest inside point", i+1, quantity.Metre(h))
		case v < 0:
			return fmt.Errorf("row %d of the strapping table has a volume of %s; expected 0 L or more", i+1, quantity.CubicMetre(v))
		case i == 0 && h == 0 && v > 0:
			return fmt.Errorf("row 1 of the strapping table has %s at height 0 mm; expected 0 L there: count heights from the lowest inside point", quantity.CubicMetre(v))
		case i > 0 && !(h > heights[i-1]):
			return fmt.Errorf("row %d of the strapping table has a height of %s after %s in row %d; expected heights that rise from row to row",
				i+1, quantity.Metre(h), quantity.Metre(heights[i-1]), i)
		case i > 0 && !(v >= volumes[i-1]):
			return fmt.Errorf("row %d of the strapping table has a volume of %s after %s in row %d; expected volumes that don't fall",
				i+1, quantity.CubicMetre(v), quantity.CubicMetre(volumes[i-1]), i)
		}
	}
	if volumes[n-1] == 0 {
		return errors.New("the strapping table has no volume in any row; expected a tank that holds something")
	}
	return nil
}
