package simulated

import (
	"math"
	"strconv"
	"time"

	"gaugewright/internal/vehicle"
)

// Payload appends a reading as the network has it to into:
// {"ohm":118.4,"time":"2026-06-01T08:00:00Z"}, with null where the source has no
// value. A second source's bears its name. The truth is no part
// of it.
func Payload(into []byte, s vehicle.Sample) []byte {
	into = append(into, `{"ohm":`...)
	if math.IsNaN(s.Ohm) {
		into = append(into, "null"...)
	} else {
		into = strconv.AppendFloat(into, s.Ohm, 'f', -1, 64)
	}
	into = append(into, `,"time":"`...)
	into = s.Stamp.UTC().AppendFormat(into, time.RFC3339Nano)
	if s.Second {
		into = append(into, `","source":"second`...)
	}
	return append(into, `"}`...)
}
