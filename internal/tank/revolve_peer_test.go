package tank_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/peer"
	"gaugewright/internal/tank"
)

// Tilted and standing bodies against SciPy, which is told nothing but the
// radii between which a section of the body lies. Volumes are integrated over
// sections square to the axis (sectors and triangles of the disc by arc
// cosines), and a second time between two levels over level planes, from the
// chord lengths alone.
func TestRevolveAgainstSciPy(t *testing.T) {
	type body struct {
		Kind   string    `json:"kind"`
		Sizes  []float64 `json:"sizes"`
		M      float64   `json:"m"`
		N      float64   `json:"n"`
		Levels []float64 `json:"levels"`
	}
	type answer struct {
		Volumes  []float64 `json:"volumes"`
		Surfaces []float64 `json:"surfaces"`
		Levelled float64   `json:"levelled"` // the middle level's volume over level planes
		Levers   []float64 `json:"levers"`   // ∫ t dV
	}
	type made struct {
		name  string
		solid tank.Solid
		axis  r3.Vec
		kind  string
		sizes []float64
	}
	kloepper := tank.Kloepper(0.3)
	korbbogen := tank.Korbbogen(0.31)
	solids := []made{
		{"lying with Kloepper heads", revolveMade(tank.Cylinder(0.3, 0.8, true, kloepper, kloepper)), r3.Vec{X: 1},
			"vessel", []float64{0.3, 0.8, 0.3, 0.03, 0.3, 0.03}},
		{"upright with Korbbogen and flatter heads", revolveMade(tank.Cylinder(0.3, 0.2, false, korbbogen, tank.Head{Kind: tank.Torispherical, Crown: 0.5})), r3.Vec{Z: 1},
			"vessel", []float64{0.3, 0.2, 0.8 * 0.31, 0.154 * 0.31, 0.5, 0}},
		{"cone", revolveMade(tank.Cone(0.3, 0.7, 0.4)), r3.Vec{Z: 1}, "cone", []float64{0.3, 0.7, 0.4}},
		{"cone with a tip", revolveMade(tank.Cone(0.5, 0, 0.6)), r3.Vec{Z: 1}, "cone", []float64{0.5, 0, 0.6}},
		{"ellipsoidal heads", revolveMade(tank.Cylinder(0.4, 0.5, true, revolveHalf, revolveBall)), r3.Vec{X: 1},
			"ellipsoids", []float64{0.4, 0.5, 0.1, 0.2}},
		{"ring", revolveMade(tank.Ring(0.6, 0.2, tank.AxisX)), r3.Vec{X: 1}, "ring", []float64{0.6, 0.2}},
		{"ring with dimples", revolveMade(tank.Ring(0.6, 0.4, tank.AxisY)), r3.Vec{Y: 1}, "ring", []float64{0.6, 0.4}},
		{"ring whose hole is a point", revolveMade(tank.Ring(0.6, 0.3, tank.AxisZ)), r3.Vec{Z: 1}, "ring", []float64{0.6, 0.3}},
		{"thin ring", revolveMade(tank.Ring(0.6, 0.02, tank.AxisX)), r3.Vec{X: 1}, "ring", []float64{0.6, 0.02}},
	}
	var names []string
	var cuts []tank.Cut
	var ups []r3.Vec
	var axes []r3.Vec
	var in []body
	for _, s := range solids {
		for _, up := range []r3.Vec{{Z: 1}, {X: 1}, tank.Degrees(5, -3).Up(), tank.Degrees(-30, 20).Up(), {X: 0.1, Y: -0.9, Z: math.Sqrt(0.18)}} {
			cut := revolveCut(t, s.solid, up)
			low, high := cut.Span()
			m := r3.Dot(up, s.axis)
			b := body{Kind: s.kind, Sizes: s.sizes, M: m, N: r3.Norm(r3.Sub(up, r3.Scale(m, s.axis)))}
			if b.N < 1e-12 { // axial: closed forms, checked elsewhere
				continue
			}
			for _, share := range []float64{0.03, 0.2, 0.37, 0.5, 0.71, 0.96} {
				b.Levels = append(b.Levels, low+share*(high-low))
			}
			names = append(names, s.name)
			cuts, ups, axes, in = append(cuts, cut), append(ups, up), append(axes, s.axis), append(in, b)
		}
	}
	var out []answer
	peer.Python(t, []string{"scipy", "numpy"}, `
import json, sys, warnings
import numpy as np
from scipy.integrate import quad
from scipy.optimize import brentq
warnings.simplefilter("ignore")

# Each body: stretches of the axis, and on each the radii between which a
# section lies. Vessels from z = 0 at the origin the product documents.
def vessel(D, L, c1, k1, c2, k2, lying):
    def head(c, k):
        # depth: crown and knuckle circles touch
        rise = np.sqrt((c - k) ** 2 - (D / 2 - k) ** 2)
        touch = k * rise / (c - k)
        def rho(z):
            if z <= touch:
                return D / 2 - k + np.sqrt(max(0, k * k - z * z))
            return np.sqrt(max(0, c * c - (z + rise) ** 2))
        return c - rise, touch, rho
    d1, t1, r1 = head(c1, k1)
    d2, t2, r2 = head(c2, k2)
    a = -L / 2 if lying else d1
    b = a + L
    def outer(t):
        if t < a:
            return r1(a - t)
        if t > b:
            return r2(t - b)
        return D / 2
    return [a - d1, a - t1, a, b, b + t2, b + d2], outer, lambda t: 0.0

def cone(a, b, h):
    return [0, h], lambda t: (a + (b - a) * t / h) / 2, lambda t: 0.0

def ellipsoids(D, L, d1, d2):
    R = D / 2
    def outer(t):
        e = (-L / 2 - t) / d1 if t < -L / 2 else (t - L / 2) / d2 if t > L / 2 else 0
        return R * np.sqrt(max(0, 1 - e * e))
    return [-L / 2 - d1, -L / 2, L / 2, L / 2 + d2], outer, lambda t: 0.0

def ring(D, tube):
    r, c = tube / 2, (D - tube) / 2
    w = lambda t: np.sqrt(max(0, r * r - t * t))
    e = [-np.sqrt(r * r - c * c), np.sqrt(r * r - c * c)] if r > c else []
    return sorted([-r, r, 0] + e), lambda t: c + w(t), lambda t: max(0, c - w(t))

def disc(rho, s):
    # the part of a disc below a chord at s: a sector and a triangle
    if s <= -rho or rho == 0 and s <= 0: return 0.0
    if s >= rho: return np.pi * rho * rho
    return rho * rho * np.arccos(-s / rho) + s * np.sqrt(rho * rho - s * s)

def chord(rho, s):
    return 2 * np.sqrt(max(0, rho * rho - s * s))

def breaks(knots, outer, inner, m, n, d):
    # where the level meets the profile, by search
    found = list(knots)
    for f in (lambda t: (d - m * t) / n - outer(t), lambda t: (d - m * t) / n + outer(t),
              lambda t: (d - m * t) / n - inner(t), lambda t: (d - m * t) / n + inner(t)):
        for a, b in zip(knots[:-1], knots[1:]):
            x = a + (b - a) * (1 - np.cos(np.linspace(0, np.pi, 200))) / 2
            y = [f(v) for v in x]
            for i in range(len(x) - 1):
                if y[i] * y[i + 1] < 0:
                    found.append(brentq(f, x[i], x[i + 1], xtol=1e-15, rtol=1e-14))
    return sorted(found)

def integral(f, marks):
    # a square root at either end turned smooth
    total = 0
    for a, b in zip(marks[:-1], marks[1:]):
        if b - a < 1e-15: continue
        g = lambda u: f(a + (b - a) * u * u * (3 - 2 * u)) * (b - a) * 6 * u * (1 - u)
        total += quad(g, 0, 1, epsabs=1e-15, epsrel=1e-12, limit=200)[0]
    return total

out = []
for k, given in enumerate(json.load(sys.stdin)):
    m, n, sizes = given["m"], given["n"], given["sizes"]
    kind = given["kind"]
    if kind == "vessel":
        knots, outer, inner = vessel(*sizes, lying=sizes[1] == 0.8)
    else:
        knots, outer, inner = {"cone": cone, "ellipsoids": ellipsoids, "ring": ring}[kind](*sizes)
    knots = sorted(set(knots))
    def surface(d, marks=None):
        marks = marks or breaks(knots, outer, inner, m, n, d)
        f = lambda t: chord(outer(t), (d - m * t) / n) - chord(inner(t), (d - m * t) / n)
        return integral(f, marks) / n
    volumes, surfaces, levers = [], [], []
    for d in given["levels"]:
        marks = breaks(knots, outer, inner, m, n, d)
        part = lambda t: disc(outer(t), (d - m * t) / n) - disc(inner(t), (d - m * t) / n)
        volumes.append(integral(part, marks))
        levers.append(integral(lambda t: t * part(t), marks))
        surfaces.append(surface(d, marks))
    # Over level planes, between two levels, by a few nodes: surfaces have corners.
    x, w = np.polynomial.legendre.leggauss(8)
    a, b = given["levels"][2], given["levels"][3]
    levelled = 0.0
    if k % 5 == 2:
        levelled = sum(v * surface(a + (b - a) * (u + 1) / 2) for u, v in zip(x, w)) * (b - a) / 2
    out.append({"volumes": volumes, "surfaces": surfaces, "levelled": levelled, "levers": levers})
json.dump(out, sys.stdout)
`, in, &out)
	var worst, worstSurface, worstLever float64
	for k, o := range out {
		low, high := cuts[k].Span()
		all, _ := cuts[k].Below(high)
		for i, d := range in[k].Levels {
			v, s := cuts[k].Below(d)
			lever := r3.Dot(cuts[k].Moment(d), axes[k])
			off, offSurface := math.Abs(v-o.Volumes[i])/all, math.Abs(s-o.Surfaces[i])*(high-low)/all
			offLever := math.Abs(lever-o.Levers[i]) / all
			worst, worstSurface, worstLever = max(worst, off), max(worstSurface, offSurface), max(worstLever, offLever)
			if !(off < 1e-10) || !(offSurface < 1e-8) || !(offLever < 1e-10) {
				t.Errorf("%s, up %v, level %g: %.14g m³, %.12g m², lever %.12g; SciPy %.14g, %.12g, %.12g", names[k], ups[k], d, v, s, lever, o.Volumes[i], o.Surfaces[i], o.Levers[i])
			}
		}
		if o.Levelled != 0 {
			a, _ := cuts[k].Below(in[k].Levels[2])
			b, _ := cuts[k].Below(in[k].Levels[3])
			if math.Abs(b-a-o.Levelled) > 1e-4*all {
				t.Errorf("%s, up %v: %.12g m³ between two levels, over level planes %.12g", names[k], ups[k], b-a, o.Levelled)
			}
		}
	}
	t.Logf("of the capacity: volumes within %.1e, levers within %.1e m; surfaces within %.1e of the mean one", worst, worstLever, worstSurface)
}
