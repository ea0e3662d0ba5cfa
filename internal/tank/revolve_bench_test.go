package tank_test

import (
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"gaugewright/internal/tank"
)

// What one volume costs, by the way it is found.
func BenchmarkRevolve(b *testing.B) {
	kloepper := tank.Kloepper(0.3)
	tilt := tank.Degrees(3, -1).Up()
	for _, c := range []struct {
		name  string
		solid tank.Solid
		up    r3.Vec
	}{
		{"lying/flat", revolveMade(tank.Cylinder(0.3, 0.8, true, revolveFlat, revolveFlat)), revolveZ},
		{"lying/ellipsoidal", revolveMade(tank.Cylinder(0.3, 0.8, true, revolveHalf, revolveHalf)), revolveZ},
		{"lying/kloepper", revolveMade(tank.Cylinder(0.3, 0.8, true, kloepper, kloepper)), revolveZ},
		{"upright/ellipsoidal", revolveMade(tank.Cylinder(0.3, 0.8, false, revolveHalf, revolveHalf)), revolveZ},
		{"upright/kloepper", revolveMade(tank.Cylinder(0.3, 0.8, false, kloepper, kloepper)), revolveZ},
		{"upright/cone", revolveMade(tank.Cone(0.3, 0.8, 0.5)), revolveZ},
		{"sphere/tilted", revolveMade(tank.Sphere(0.5)), tilt},
		{"ring/flat", revolveMade(tank.Ring(0.6, 0.2, tank.AxisZ)), revolveZ},
		{"ring/dimples", revolveMade(tank.Ring(0.6, 0.4, tank.AxisZ)), revolveZ},
		{"ring/edge", revolveMade(tank.Ring(0.6, 0.2, tank.AxisX)), revolveZ},
		{"tilted/flat", revolveMade(tank.Cylinder(0.3, 0.8, true, revolveFlat, revolveFlat)), tilt},
		{"tilted/ellipsoidal", revolveMade(tank.Cylinder(0.3, 0.8, true, revolveHalf, revolveHalf)), tilt},
		{"tilted/kloepper", revolveMade(tank.Cylinder(0.3, 0.8, true, kloepper, kloepper)), tilt},
		{"tilted/cone", revolveMade(tank.Cone(0.3, 0.8, 0.5)), tilt},
		{"tilted/ring", revolveMade(tank.Ring(0.6, 0.2, tank.AxisZ)), tilt},
	} {
		b.Run(c.name, func(b *testing.B) {
			cut := revolveCut(b, c.solid, c.up)
			low, high := cut.Span()
			var levels [1024]float64
			for i := range levels {
				levels[i] = low + (high-low)*(float64(i)+0.5)/1024
			}
			b.ReportAllocs()
			var sum float64
			i := 0
			for b.Loop() {
				v, _ := cut.Below(levels[i&1023])
				sum += v
				i++
			}
			if !(sum > 0) {
				b.Fatal("nothing in it")
			}
		})
	}
}
