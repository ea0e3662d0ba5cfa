package main

import (
	"bytes"
	"database/sql"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"

	"github.com/VictoriaMetrics/VictoriaMetrics/lib/encoding"
	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go"
	"github.com/prometheus/prometheus/tsdb/chunkenc"
	"github.com/ulikunitz/xz"
	_ "modernc.org/sqlite"

	"gaugewright/internal/series"
)

// peer is another way to keep a line. keep gives the bytes that it takes and a
// function that puts all of it into a thousand buckets; nil where that isn't timed.
type peer struct {
	name string
	keep func(folder string, l line) (size int, fold func() ([]series.Roll, error), err error)
}

func peers() []peer {
	return []peer{
		{"XOR chunks of 120, values as float64 (prometheus/tsdb/chunkenc)", xor},
		{"time-series blocks of 8,192, whole numbers (VictoriaMetrics/lib/encoding)", blocks},
		{"Parquet, DELTA_BINARY_PACKED and zstd (parquet-go)", columns},
		{"zstd, best, of columns of differences", func(_ string, l line) (int, func() ([]series.Roll, error), error) {
			e, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedBestCompression))
			if err != nil {
				return 0, nil, err
			}
			return len(e.EncodeAll(differences(l.times), nil)) + len(e.EncodeAll(differences(l.values), nil)), nil, nil
		}},
		{"xz of columns of differences", func(_ string, l line) (int, func() ([]series.Roll, error), error) {
			n := 0
			for _, c := range [][]int64{l.times, l.values} {
				var b bytes.Buffer
				w, err := xz.NewWriter(&b)
				if err != nil {
					return 0, nil, err
				}
				if _, err := w.Write(differences(c)); err != nil {
					return 0, nil, err
				}
				if err := w.Close(); err != nil {
					return 0, nil, err
				}
				n += b.Len()
			}
			return n, nil, nil
		}},
		{"SQLite rows of time and value, by time", rows},
	}
}

// differences gives a column as the varints of what each number is above the one
// before.
func differences(column []int64) []byte {
	var b []byte
	var before int64
	for _, v := range column {
		b = binary.AppendVarint(b, v-before)
		before = v
	}
	return b
}

// whole gives the grid of a thousand buckets over a line.
func whole(l line) (from, width int64) {
	from = l.times[0]
	return from, (l.times[len(l.times)-1] + 1 - from + 999) / 1000
}

func xor(_ string, l line) (int, func() ([]series.Roll, error), error) {
	var chunks []*chunkenc.XORChunk
	size := 0
	for i := 0; i < len(l.times); i += 120 {
		c := chunkenc.NewXORChunk()
		a, err := c.Appender()
		if err != nil {
			return 0, nil, err
		}
		for j := i; j < min(i+120, len(l.times)); j++ {
			a.Append(0, l.times[j], float64(l.values[j])/10)
		}
		c.Compact()
		size += len(c.Bytes())
		chunks = append(chunks, c)
	}
	return size, func() ([]series.Roll, error) {
		from, width := whole(l)
		into := make([]series.Roll, 1000)
		var it chunkenc.Iterator
		for _, c := range chunks {
			it = c.Iterator(it)
			for it.Next() != chunkenc.ValNone {
				t, v := it.At()
				// Whole tenths, so that the buckets are the same; it costs the peer a
				// nanosecond or two.
				into[(t-from)/width].Add(int64(v*10 + 0.5))
			}
			if err := it.Err(); err != nil {
				return nil, err
			}
		}
		return into, nil
	}, nil
}

func blocks(_ string, l line) (int, func() ([]series.Roll, error), error) {
	type column struct {
		b     []byte
		kind  encoding.MarshalType
		first int64
		n     int
	}
	var all [][2]column
	size := 0
	for i := 0; i < len(l.times); i += 8192 {
		j := min(i+8192, len(l.times))
		bt, kt, ft := encoding.MarshalTimestamps(nil, l.times[i:j], 64)
		bv, kv, fv := encoding.MarshalValues(nil, l.values[i:j], 64)
		size += len(bt) + len(bv)
		all = append(all, [2]column{{bt, kt, ft, j - i}, {bv, kv, fv, j - i}})
	}
	return size, func() ([]series.Roll, error) {
		from, width := whole(l)
		into := make([]series.Roll, 1000)
		var times, values []int64
		var err error
		for _, c := range all {
			if times, err = encoding.UnmarshalTimestamps(times[:0], c[0].b, c[0].kind, c[0].first, c[0].n); err != nil {
				return nil, err
			}
			if values, err = encoding.UnmarshalValues(values[:0], c[1].b, c[1].kind, c[1].first, c[1].n); err != nil {
				return nil, err
			}
			series.Fold(times, values, from, width, into)
		}
		return into, nil
	}, nil
}

func columns(_ string, l line) (int, func() ([]series.Roll, error), error) {
	type row struct {
		Time  int64 `parquet:"time,delta,zstd"`
		Value int64 `parquet:"value,delta,zstd"`
	}
	rows := make([]row, len(l.times))
	for i := range rows {
		rows[i] = row{l.times[i], l.values[i]}
	}
	var b bytes.Buffer
	w := parquet.NewGenericWriter[row](&b)
	if _, err := w.Write(rows); err != nil {
		return 0, nil, err
	}
	if err := w.Close(); err != nil {
		return 0, nil, err
	}
	return b.Len(), func() ([]series.Roll, error) {
		from, width := whole(l)
		into := make([]series.Roll, 1000)
		r := parquet.NewGenericReader[row](bytes.NewReader(b.Bytes()))
		defer r.Close()
		part := make([]row, 4096)
		for left := len(l.times); left > 0; {
			n, err := r.Read(part)
			if n == 0 && err != nil {
				return nil, err
			}
			for _, x := range part[:n] {
				into[(x.Time-from)/width].Add(x.Value)
			}
			left -= n
		}
		return into, nil
	}, nil
}

func rows(folder string, l line) (int, func() ([]series.Roll, error), error) {
	path := filepath.Join(folder, "rows.db")
	db, err := sql.Open("sqlite", path)
	if err != nil {
		return 0, nil, err
	}
	tx, err := db.Begin()
	if err != nil {
		return 0, nil, err
	}
	if _, err := tx.Exec(`CREATE TABLE r (time INTEGER PRIMARY KEY, value INTEGER) STRICT`); err != nil {
		return 0, nil, err
	}
	s, err := tx.Prepare(`INSERT INTO r VALUES (?, ?)`)
	if err != nil {
		return 0, nil, err
	}
	for i := range l.times {
		if _, err := s.Exec(l.times[i], l.values[i]); err != nil {
			return 0, nil, err
		}
	}
	if err := tx.Commit(); err != nil {
		return 0, nil, err
	}
	info, err := os.Stat(path)
	if err != nil {
		return 0, nil, err
	}
	return int(info.Size()), func() ([]series.Roll, error) {
		from, width := whole(l)
		into := make([]series.Roll, 1000)
		got, err := db.Query(`SELECT (time-?)/?, count(*), min(value), max(value), sum(value) FROM r GROUP BY 1`, from, width)
		if err != nil {
			return nil, err
		}
		defer got.Close()
		for got.Next() {
			var at int
			var r series.Roll
			if err := got.Scan(&at, &r.N, &r.Min, &r.Max, &r.Sum); err != nil {
				return nil, err
			}
			into[at] = r
		}
		return into, got.Err()
	}, nil
}

const hourRolls = "packed rolls by the hour, 730 buckets of 12 hours"

// cpu gives the time that this program has used of the cores, which tells more than
// the clock where other programs run as well.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// beside keeps a line in each peer's way, and times its buckets in turns, so that
// what else the machine does is shared out.
func beside(l line, chunks []packed) error {
	folder, err := os.MkdirTemp("", "history")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	expect, err := buckets(chunks, l)
	if err != nil {
		return err
	}
	type row struct {
		name      string
		size      int
		fold      func() ([]series.Roll, error)
		best, cpu time.Duration
	}
	packedSize := 0
	for _, c := range chunks {
		packedSize += len(c.times) + len(c.values)
	}
	all := []row{{"packed columns, one core", packedSize, func() ([]series.Roll, error) { return buckets(chunks, l) }, 0, 0},
		{"packed columns, two cores", packedSize, func() ([]series.Roll, error) { return bucketsByTwo(chunks, l) }, 0, 0}}
	h, size := rolled(l), 0
	for _, b := range h.blocks {
		size += len(b)
	}
	all = append(all, row{hourRolls, size, h.fold, 0, 0})
	fmt.Printf("%s: rolls by the minute take %.3f bytes a reading, %.2f bytes each\n", l.name, float64(h.minute)/float64(len(l.times)), float64(h.minute)/float64(60*h.n))
	for _, p := range peers() {
		size, fold, err := p.keep(folder, l)
		if err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
		all = append(all, row{p.name, size, fold, 0, 0})
	}
	for turn := range 15 {
		for i := range all {
			if all[i].fold == nil || turn > 2 && all[i].best > time.Second/4 {
				continue
			}
			begun, used := time.Now(), cpu()
			got, err := all[i].fold()
			took := time.Since(begun)
			used = cpu() - used
			if err != nil {
				return fmt.Errorf("%s: %w", all[i].name, err)
			}
			for j := range got {
				if got[j] != expect[j] && all[i].name != hourRolls {
					return fmt.Errorf("%s: bucket %d has %v, expected %v", all[i].name, j, got[j], expect[j])
				}
			}
			if turn == 0 || took < all[i].best {
				all[i].best = took
			}
			if turn == 0 || used < all[i].cpu {
				all[i].cpu = used
			}
		}
	}
	for _, r := range all {
		if r.fold == nil {
			fmt.Printf("  %-75s %7.3f bytes a reading\n", r.name, float64(r.size)/float64(len(l.times)))
			continue
		}
		fmt.Printf("  %-75s %7.3f bytes a reading %8.1f ms, %8.1f of the cores\n", r.name, float64(r.size)/float64(len(l.times)), r.best.Seconds()*1e3, r.cpu.Seconds()*1e3)
	}
	return nil
}
