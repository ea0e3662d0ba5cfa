package xdr

import (
	"testing"

	"gaugewright/internal/watch"
)

// BenchmarkLine is the whole way of a sentence with two tanks from its line on,
// and of one that is passed over.
func BenchmarkLine(b *testing.B) {
	for name, text := range map[string]string{
		"two tanks":   summedUp("IIXDR,E,75.0,P,FreshWater#0,V,0.02,M,Grey"),
		"passed over": summedUp("GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"),
	} {
		b.Run(name, func(b *testing.B) {
			l, s := receiving(b, boat).listener, newTape()
			line, list := []byte(text), make([]watch.Reading, 0, 2)
			b.ReportAllocs()
			for b.Loop() {
				l.line(list, line, false, false, noon, s)
			}
			if len(s.Counts) > 0 {
				b.Error(s.Counts)
			}
		})
	}
}
