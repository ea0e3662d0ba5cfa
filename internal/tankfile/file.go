package tankfile

import (
	"encoding/json"
)

// Version is the version of tank files this program reads.
const Version = 1

// File is a tank file. As a part of another file, such as a job, it needs no
// version.
type File struct {
	Version int `json:"version,omitempty"`
	Body
	CapacityL        float64  `json:"capacity_l,omitempty"`         // as stated on the plate; 0: not stated
	PermittedFillPct float64  `json:"permitted_fill_pct,omitempty"` // of the capacity; 0: not stated
	HeelL            *float64 `json:"heel_l,omitempty"`             // what can't be drawn, as a volume
	HeelMM           *float64 `json:"heel_mm,omitempty"`            // or as a height at the sensor
	Sensor           *Sensor  `json:"sensor,omitempty"`
	Sender           *Sender  `json:"sender,omitempty"`
}

// Shape is the shape of an inside.
type Shape string

// The shapes.
const (
	LyingCylinder   Shape = "horizontal-cylinder"
	UprightCylinder Shape = "upright-cylinder"
	Box             Shape = "box"
	Sphere          Shape = "sphere"
	Frustum         Shape = "frustum"
	Ring            Shape = "ring"
	Extrusion       Shape = "extrusion"
	Stack           Shape = "stack"
	Joined          Shape = "joined"
	Strapping       Shape = "strapping"
	Mesh            Shape = "mesh"
)

// Body is a shape with its sizes. Which of the fields a shape has, and which of
// them it needs, stands in the [Schema].
type Body struct {
	Name    string  `json:"name,omitempty"`
	Note    string  `json:"note,omitempty"`
	Shape   Shape   `json:"shape"`
	WallMM  float64 `json:"wall_mm,omitempty"` // sizes are outside ones; 0: inside ones
	TurnDeg float64 `json:"turn_deg,omitempty"`

	DiameterMM      float64  `json:"diameter_mm,omitempty"`
	LengthMM        float64  `json:"length_mm,omitempty"`
	OverallLengthMM float64  `json:"overall_length_mm,omitempty"` // in the place of length_mm, over both heads
	Heads           *Heads   `json:"heads,omitempty"`
	CrownMM         float64  `json:"crown_mm,omitempty"`
	KnuckleMM       *float64 `json:"knuckle_mm,omitempty"`

	WidthMM  float64 `json:"width_mm,omitempty"`
	HeightMM float64 `json:"height_mm,omitempty"`

	BottomDiameterMM *float64 `json:"bottom_diameter_mm,omitempty"`
	TopDiameterMM    *float64 `json:"top_diameter_mm,omitempty"`
	BottomLengthMM   *float64 `json:"bottom_length_mm,omitempty"`
	BottomWidthMM    *float64 `json:"bottom_width_mm,omitempty"`
	TopLengthMM      *float64 `json:"top_length_mm,omitempty"`
	TopWidthMM       *float64 `json:"top_width_mm,omitempty"`

	TubeDiameterMM float64  `json:"tube_diameter_mm,omitempty"`
	OutlineMM      []Vertex `json:"outline_mm,omitempty"`
	Axis           string   `json:"axis,omitempty"`

	Parts []Part `json:"parts,omitempty"`

	Table   []Row  `json:"table,omitempty"`
	CSV     string `json:"csv,omitempty"`
	Between string `json:"between,omitempty"`

	MeshFile string `json:"file,omitempty"`
	Unit     string `json:"unit,omitempty"`
	Up       string `json:"up,omitempty"`
	Drawn    string `json:"drawn,omitempty"`

	Without []Part `json:"without,omitempty"`
}

// Part is a shape with its place: the middle of its plan, and its lowest inside
// point, from the origin of what it is a part of.
type Part struct {
	Body
	XMM float64 `json:"x_mm,omitempty"`
	YMM float64 `json:"y_mm,omitempty"`
	ZMM float64 `json:"z_mm,omitempty"`
}

// Row is a line of a strapping table.
type Row struct {
	HeightMM float64 `json:"height_mm"`
	VolumeL  float64 `json:"volume_l"`
}

// Sensor is where the height is read, from the middle of the plan.
type Sensor struct {
	XMM  float64     `json:"x_mm"`
	YMM  float64     `json:"y_mm"`
	Axis *[3]float64 `json:"axis,omitempty"` // nil: upright
}

// Heads are the heads of a cylinder: Both, by one name, or one for each end.
type Heads struct {
	Both   string `json:"-"` // "" where each end has its own
	Left   *Head  `json:"left,omitempty"`
	Right  *Head  `json:"right,omitempty"`
	Bottom *Head  `json:"bottom,omitempty"`
	Top    *Head  `json:"top,omitempty"`
}

// Head is one head: in the file a name, or an object with its radii.
type Head struct {
	Kind      string   `json:"kind"`
	CrownMM   float64  `json:"crown_mm,omitempty"`
	KnuckleMM *float64 `json:"knuckle_mm,omitempty"`
}

// Vertex is a corner of an outline: in the file a point, or an object.
type Vertex struct {
	At       [2]float64  `json:"at"`
	CornerMM float64     `json:"corner_mm,omitempty"` // rounded by this radius; 0: sharp
	Through  *[2]float64 `json:"through,omitempty"`   // a point of the arc from the corner before
}

// MarshalJSON writes one name where there is one.
func (h Heads) MarshalJSON() ([]byte, error) {
	if h.Both != "" {
		return json.Marshal(h.Both)
	}
	type plain Heads
	return json.Marshal(plain(h))
}

// UnmarshalJSON reads a name or an object.
func (h *Heads) UnmarshalJSON(data []byte) error {
	*h = Heads{}
	if data[0] == '"' {
		return json.Unmarshal(data, &h.Both)
	}
	type plain Heads
	return json.Unmarshal(data, (*plain)(h))
}

// MarshalJSON writes a name where that is all there is.
func (h Head) MarshalJSON() ([]byte, error) {
	if h == (Head{Kind: h.Kind}) {
		return json.Marshal(h.Kind)
	}
	type plain Head
	return json.Marshal(plain(h))
}

// UnmarshalJSON reads a name or an object.
func (h *Head) UnmarshalJSON(data []byte) error {
	*h = Head{}
	if data[0] == '"' {
		return json.Unmarshal(data, &h.Kind)
	}
	type plain Head
	return json.Unmarshal(data, (*plain)(h))
}

// MarshalJSON writes a point where that is all there is.
func (v Vertex) MarshalJSON() ([]byte, error) {
	if v == (Vertex{At: v.At}) {
		return json.Marshal(v.At)
	}
	type plain Vertex
	return json.Marshal(plain(v))
}

// UnmarshalJSON reads a point or an object.
func (v *Vertex) UnmarshalJSON(data []byte) error {
	*v = Vertex{}
	if data[0] == '[' {
		return json.Unmarshal(data, &v.At)
	}
	type plain Vertex
	return json.Unmarshal(data, (*plain)(v))
}
