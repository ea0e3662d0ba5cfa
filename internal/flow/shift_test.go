package flow

import (
	"math"
	"testing"
)

// nile is the yearly flow of the Nile at Aswan, 10⁸ m³, 1871 to 1970: from memory of
// the data set "Nile" of R; its mean of 919.35 is checked.
var nile = []float64{
	1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
	1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
	831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
	781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
	744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
}

// TestShiftOfTheNile: the flow fell after 1898, as is known (Cobb, Biometrika 65
// (1978) 243-251). breakpoints(Nile ~ 1) of the R package strucchange gives 28, and
// means of 1097.75 before and 849.9722 after.
func TestShiftOfTheNile(t *testing.T) {
	sum := 0.0
	for _, v := range nile {
		sum += v
	}
	if len(nile) != 100 || math.Abs(sum/100-919.35) > 1e-9 {
		t.Fatalf("%d years with a mean of %g; expected 100 with 919.35", len(nile), sum/100)
	}
	k, before, after := shift(nile, 15)
	if year := 1871 + len(nile) - k; year != 1899 || math.Abs(before-1097.75) > 1e-9 || math.Abs(after-849.97222222) > 1e-6 {
		t.Errorf("it changed in %d, from %g to %g; expected in 1899, from 1097.75 to 849.9722", year, before, after)
	}
}
