package sqlite

import (
	"encoding/binary"
	"hash/crc32"

	"gaugewright/internal/series"
)

// The body of a chunk: a byte 3 for this form of it; columns as internal/series packs
// them; the CRC-32C of all before it, four bytes, little-endian. The columns: times,
// ms; whats, as in a hot row without bit 6; values of those that were measured and
// aren't exact, in steps; lags of those with an arrival, s; pitches and rolls of those
// with a tilt, 0.1 mrad; exact values, the bits of a float64.
const (
	chunkForm = 3
	// chunkReadings make a chunk worth sealing; one has less than twice as many.
	chunkReadings = 4096
)

// columns is a chunk taken apart, and room to take the next one apart.
type columns struct {
	times, whats, values, lags, pitches, rolls, exacts []int64
}

func (c *columns) clear() {
	for _, p := range c.list() {
		*p = (*p)[:0]
	}
}

func (c *columns) list() [7]*[]int64 {
	return [...]*[]int64{&c.times, &c.whats, &c.values, &c.lags, &c.pitches, &c.rolls, &c.exacts}
}

// appendChunk appends the body of a chunk of these records.
func (c *columns) appendChunk(b []byte, list []record) []byte {
	c.clear()
	for i := range list {
		k := &list[i]
		c.times = append(c.times, k.time)
		c.whats = append(c.whats, int64(k.what))
		switch {
		case k.what&exact != 0:
			c.exacts = append(c.exacts, k.value)
		case k.what&saidBits == 0:
			c.values = append(c.values, k.value)
		}
		if k.what&arrived != 0 {
			c.lags = append(c.lags, k.lag)
		}
		if k.what&tilted != 0 {
			c.pitches = append(c.pitches, int64(k.pitch))
			c.rolls = append(c.rolls, int64(k.roll))
		}
	}
	from := len(b)
	b = append(b, chunkForm)
	for _, column := range c.list() {
		b = series.Pack(b, *column)
	}
	return binary.LittleEndian.AppendUint32(b, crc32.Checksum(b[from:], castagnoli))
}

// open takes a chunk apart as far as is needed for its values: up to the column of
// those. It gives what follows.
func (c *columns) open(body []byte) (rest []byte, err error) {
	b, err := checked(body, chunkForm)
	if err != nil {
		return nil, err
	}
	c.clear()
	for _, column := range []*[]int64{&c.times, &c.whats, &c.values} {
		if *column, b, err = series.Unpack(*column, b); err != nil {
			return nil, err
		}
	}
	if len(c.whats) != len(c.times) {
		return nil, errBody
	}
	return b, nil
}

// records appends the records of a chunk.
func (c *columns) records(list []record, body []byte) ([]record, error) {
	b, err := c.open(body)
	if err != nil {
		return list, err
	}
	for _, column := range []*[]int64{&c.lags, &c.pitches, &c.rolls, &c.exacts} {
		if *column, b, err = series.Unpack(*column, b); err != nil {
			return list, err
		}
	}
	values, lags, pitches, rolls, exacts := c.values, c.lags, c.pitches, c.rolls, c.exacts
	short := len(b) > 0 || len(rolls) != len(pitches)
	next := func(column *[]int64) int64 {
		if len(*column) == 0 {
			short = true
			return 0
		}
		v := (*column)[0]
		*column = (*column)[1:]
		return v
	}
	for i, what := range c.whats {
		k := record{time: c.times[i], what: byte(what)}
		if what&^whatBits != 0 {
			return list, errBody
		}
		switch {
		case k.what&exact != 0:
			k.value = next(&exacts)
		case k.what&saidBits == 0:
			k.value = next(&values)
		}
		if k.what&arrived != 0 {
			k.lag = next(&lags)
		}
		if k.what&tilted != 0 {
			k.pitch, k.roll = int32(next(&pitches)), int32(next(&rolls))
		}
		if short {
			return list, errBody
		}
		list = append(list, k)
	}
	if len(values)+len(lags)+len(pitches)+len(exacts) > 0 {
		return list, errBody
	}
	return list, nil
}
