package series

import "testing"

// chunk is a chunk of a store: ohms in tenths about a slow level, with 0.25 Ω of
// noise, and times in milliseconds, ten seconds apart, some of them with jitter.
func chunk(jitter float64) (times, values []int64) {
	values = noise(4096, 0, 2.5)
	late := noise(4097, 0, jitter)
	times = make([]int64, len(values))
	for i := range values {
		values[i] += 1137 - int64(i)/40
		times[i] = 1_782_864_000_000 + 10_000*int64(i) + late[i]
	}
	return times, values
}

func BenchmarkUnpack(b *testing.B) {
	times, values := chunk(0)
	rough, _ := chunk(3)
	for _, c := range []struct {
		name   string
		column []int64
	}{{"values", values}, {"regular times", times}, {"times with jitter", rough}, {"little noise", noise(4096, 3.3, 0.6)}} {
		b.Run(c.name, func(b *testing.B) {
			packed := Pack(nil, c.column)
			into := make([]int64, 0, len(c.column))
			for b.Loop() {
				if _, _, err := Unpack(into, packed); err != nil {
					b.Fatal(err)
				}
			}
			n := float64(len(c.column))
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/n, "ns/number")
			b.ReportMetric(float64(len(packed))/n, "bytes/number")
		})
	}
}

func BenchmarkPack(b *testing.B) {
	_, values := chunk(0)
	b.Run("4096", func(b *testing.B) {
		var to []byte
		for b.Loop() {
			to = Pack(to[:0], values)
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/4096, "ns/number")
	})
	b.Run("10", func(b *testing.B) {
		var to []byte
		for b.Loop() {
			to = Pack(to[:0], values[:10])
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/10, "ns/number")
	})
}

func BenchmarkFold(b *testing.B) {
	times, values := chunk(0)
	into := make([]Roll, 1000)
	for b.Loop() {
		Fold(times, values, times[0], 31_536_000, into)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/4096, "ns/number")
}

func BenchmarkTables(b *testing.B) {
	for b.Loop() {
		makeTables()
	}
}
