package vehicle

// Way is what the vehicle drives on.
type Way uint8

// The ways.
const (
	Parked Way = iota
	Town
	Road
	Track
)

// String gives "parked", "town", "road" or "track".
func (w Way) String() string {
	if w > Track {
		return "unknown"
	}
	return [...]string{"parked", "town", "road", "track"}[w]
}

// stretch is a time at an even acceleration: up to a speed in km/h, within
// seconds.
type stretch struct{ seconds, to float64 }

// urban is the elementary urban cycle, 195 s, and country the extra-urban cycle,
// 400 s, of the type I test of UN Regulation No. 83 (the "NEDC"): times and
// speeds, from memory. Gear changes are even speed.
var urban = []stretch{
	{11, 0}, {4, 15}, {8, 15}, {2, 10}, {3, 0},
	{21, 0}, {5, 15}, {2, 15}, {5, 32}, {24, 32}, {8, 10}, {3, 0},
	{21, 0}, {5, 15}, {2, 15}, {9, 35}, {2, 35}, {8, 50}, {12, 50}, {8, 35}, {13, 35}, {2, 32}, {7, 10}, {3, 0},
	{7, 0},
}

var country = []stretch{
	{20, 0}, {5, 15}, {2, 15}, {9, 35}, {2, 35}, {8, 50}, {2, 50}, {13, 70}, {50, 70},
	{8, 50}, {69, 50}, {13, 70}, {50, 70}, {35, 100}, {30, 100}, {20, 120}, {10, 120},
	{16, 80}, {8, 50}, {10, 0}, {20, 0},
}

// rough is a crawl: common practice, no source.
var rough = []stretch{{4, 10}, {20, 12}, {6, 5}, {15, 15}, {5, 8}, {6, 0}, {4, 0}}

// habit is how it goes on a way. But for the cycles: common practice, no source.
type habit struct {
	cycle        []stretch
	shake, turns float64 // rms, m/s²: jolts of the surface and the driver; bends
	tauShake     float64 // correlation times, s
	tauTurns     float64
	hills, camber,
	tauHills float64 // rms slopes of the way in rad, and how long they last in s
}

const degree = 0.017453292519943295

var habits = [...]habit{
	Parked: {hills: 0.5 * degree, camber: 0.5 * degree},
	Town:   {urban, 0.15, 0.8, 0.3, 4, 1.5 * degree, 0.5 * degree, 60},
	Road:   {country, 0.20, 0.5, 0.3, 6, 2 * degree, 0.7 * degree, 90},
	Track:  {rough, 0.80, 0.5, 0.25, 3, 3 * degree, 2.5 * degree, 8},
}
