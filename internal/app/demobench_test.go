package app

import (
	"os"
	"testing"
)

// A demonstration has to be there within two seconds, its past included.
func BenchmarkStartDrive(b *testing.B) {
	j, names := stallJob()
	for b.Loop() {
		folder, err := os.MkdirTemp("", "gaugewright-demo-")
		if err != nil {
			b.Fatal(err)
		}
		d, err := StartDrive(b.Context(), DemoVehicle{Job: j, Tanks: names, Folder: folder, Seed: 14, Start: shedMorning})
		if err != nil {
			b.Fatal(err)
		}
		if err := d.Stop(); err != nil {
			b.Fatal(err)
		}
		if err := os.RemoveAll(folder); err != nil {
			b.Fatal(err)
		}
	}
}
