package doubt_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"gaugewright/internal/doubt"
)

// near is the one tolerance helper: relative, or absolute below 1.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*max(1e-300, math.Abs(want))) {
		t.Errorf("%s = %.15g, want %.15g within %g relative", what, got, want, tol)
	}
}

func columns(t *testing.T, path, xName, yName string) (x, y []float64) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, name := range rows[0] {
		at[name] = i
	}
	for _, row := range rows[1:] {
		for name, into := range map[string]*[]float64{xName: &x, yName: &y} {
			v, err := strconv.ParseFloat(row[at[name]], 64)
			if err != nil {
				t.Fatal(err)
			}
			*into = append(*into, v)
		}
	}
	return x, y
}

// JCGM 100:2008 (GUM), H.3 "Calibration of a thermometer", Table H.6: eleven
// corrections against temperature. Published: y1 = −0.1712, u = 0.0029;
// y2 = 0.00218, u = 0.00067; r = −0.930; s = 0.0035; correction at 30 °C
// −0.1494, u = 0.0041. The longer digits are an independent recomputation.
func TestStraightLineGUMH3(t *testing.T) {
	x, y := columns(t, "testdata/gum_h3.csv", "t_degC", "b_degC")
	fit, err := doubt.FitPolynomial(x, y, 1, 20)
	if err != nil {
		t.Fatal(err)
	}
	published := []struct {
		what      string
		got, want float64
		unit      float64 // one unit in the last published place
	}{
		{"y1", fit.Coef[0], -0.1712, 1e-4},
		{"u(y1)", math.Sqrt(fit.Covariance.At(0, 0)), 0.0029, 1e-4},
		{"y2", fit.Coef[1], 0.00218, 1e-5},
		{"u(y2)", math.Sqrt(fit.Covariance.At(1, 1)), 0.00067, 1e-5},
		{"r(y1,y2)", fit.Correlation(0, 1), -0.930, 1e-3},
		{"s", fit.ResidualSD, 0.0035, 1e-4},
	}
	for _, p := range published {
		if math.Abs(p.got-p.want) > p.unit/2 {
			t.Errorf("%s = %g, published %g", p.what, p.got, p.want)
		}
	}
	at30, u30 := fit.At(30)
	near(t, "correction at 30", at30, -0.149376812732, 1e-11)
	near(t, "u at 30", u30, 0.004138595753, 1e-9)
	near(t, "y1", fit.Coef[0], -0.17120379013135, 1e-12)
	near(t, "u(y1)", math.Sqrt(fit.Covariance.At(0, 0)), 0.00287759783516, 1e-11)
	near(t, "u(y2)", math.Sqrt(fit.Covariance.At(1, 1)), 0.00066793877323, 1e-10)
	near(t, "r", fit.Correlation(0, 1), -0.930429603093, 1e-11)
	near(t, "u of one new reading at 30", doubt.Combine(u30, fit.ResidualSD), 0.005418572550, 1e-9)
	_, u20 := fit.At(20)
	near(t, "u at 20", u20, 0.002877597835, 1e-9)
}

// NIST Statistical Reference Datasets, linear regression, certified values:
// Norris (lower difficulty) and Pontius (whose raw normal equations fail).
func TestCertifiedRegressions(t *testing.T) {
	const tol = 1e-10
	tests := []struct {
		name, file           string
		degree               int
		coef, sd             []float64
		residualSD, rSquared float64
		residualSS           float64
	}{
		{"Norris", "testdata/nist_norris.csv", 1,
			[]float64{-0.262323073774029, 1.00211681802045},
			[]float64{0.232818234301152, 0.429796848199937e-03},
			0.884796396144373, 0.999993745883712, 26.6173985294224},
		{"Pontius", "testdata/nist_pontius.csv", 2,
			[]float64{0.673565789473684e-03, 0.732059160401003e-06, -0.316081871345029e-14},
			[]float64{0.107938612033077e-03, 0.157817399981659e-09, 0.486652849992036e-16},
			0.205177424076185e-03, 0.999999900178537, 0.155761768796992e-05},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			x, y := columns(t, test.file, "x", "y")
			fit, err := doubt.FitPolynomial(x, y, test.degree, 0)
			if err != nil {
				t.Fatal(err)
			}
			for i := range test.coef {
				near(t, "coefficient", fit.Coef[i], test.coef[i], tol)
				near(t, "its standard deviation", math.Sqrt(fit.Covariance.At(i, i)), test.sd[i], tol)
			}
			near(t, "residual sd", fit.ResidualSD, test.residualSD, tol)
			near(t, "residual sum of squares", fit.ResidualSS, test.residualSS, tol)
			near(t, "R squared", fit.RSquared, test.rSquared, tol)
		})
	}
}

func TestFitPolynomialRefuses(t *testing.T) {
	for name, in := range map[string]struct {
		x, y   []float64
		degree int
	}{
		"lengths differ":   {[]float64{1, 2}, []float64{1}, 1},
		"too few points":   {[]float64{1}, []float64{1}, 1},
		"one x only":       {[]float64{3, 3, 3}, []float64{1, 2, 3}, 1},
		"two x, parabola":  {[]float64{3, 3, 4, 4}, []float64{1, 2, 3, 4}, 2},
		"nothing to go on": {nil, nil, 0},
	} {
		if fit, err := doubt.FitPolynomial(in.x, in.y, in.degree, 0); err == nil {
			t.Errorf("%s: fitted %v", name, fit.Coef)
		}
	}
}

func TestStandardUncertainties(t *testing.T) {
	// JCGM 100:2008, 4.3.7 and F.2.2.1 (figures from memory): a/√3; 0.29 of the step.
	near(t, "rectangular", doubt.Rectangular(1), 0.5773502691896258, 1e-15)
	near(t, "resolution", doubt.Resolution(1), 0.2886751345948129, 1e-15)
	near(t, "3-4-5", doubt.Combine(3, 4), 5, 1e-15)
	// A meter's ±(0.9 % + 2 digits) at 118.4 Ω: half-width 1.2656, u 0.730695
	// (arithmetic of the rectangular rule, independently recomputed).
	near(t, "meter", doubt.Rectangular(0.009*118.4+2*0.1), 0.730695, 1e-6)
}

func TestPool(t *testing.T) {
	// NIST StRD Pontius: its 20 pairs of duplicates alone give a pure error of
	// 0.000214726570 with 20 degrees of freedom (independent recomputation).
	x, y := columns(t, "testdata/nist_pontius.csv", "x", "y")
	byX := map[float64][]float64{}
	for i := range x {
		byX[x[i]] = append(byX[x[i]], y[i])
	}
	var groups [][]float64
	for _, g := range byX {
		groups = append(groups, g)
	}
	pooled := doubt.Pool(groups)
	if pooled.DF != 20 {
		t.Errorf("degrees of freedom = %d, want 20", pooled.DF)
	}
	near(t, "pure error", pooled.SD, 0.000214726570, 1e-8)
	if got := doubt.Pool([][]float64{{1}, {2}}); got != (doubt.Pooled{}) {
		t.Errorf("nothing repeated gave %+v", got)
	}
}
