package archtest

// A room is one package and what its own files, tests apart, may import of the
// house and from outside. The standard library is open to all.
type room struct {
	name    string   // the folder, below internal/ unless it says cmd/ or tools/
	may     []string // rooms it may import
	outside []string // modules it may import
	kind    kind
}

type kind int

const (
	core    kind = iota // computes; gets time as an argument, never from a clock
	edge                // meets the world: networks, disks, clocks
	support             // helps tests; only _test.go files import it
	program             // has a main; nobody imports it
)

// house is the plan, from the ground up: a room may import only rooms above it
// in this list, which is how "imports point down" is kept free of circles.
//
// Why each room may see no more than it does: the ground floor (quantity to
// curve) knows nothing of jobs, files or pages, so it can be checked against
// textbooks, and used again. readings knows file formats, so nothing that
// computes may lean on it. chart draws any quantity and knows no verdicts, so
// a drawing can't differ from the record on what is good. job holds all of it
// together and knows nothing of how it is shown.
var house = []room{
	// ground
	{name: "quantity"},
	{name: "finding"},
	{name: "wording"},
	{name: "keep"},
	{name: "language", may: rooms("wording"), outside: rooms(xtext, xnet)},
	{name: "strict", may: rooms("wording"), outside: rooms(jsonschema)},
	{name: "scale", may: rooms("quantity")},
	{name: "series"},
	{name: "doors", may: rooms("wording"), outside: rooms(xcrypto)},
	{name: "doubt", outside: rooms(gonum)},
	{name: "curve", may: rooms("quantity", "finding", "wording", "doubt"), outside: rooms(gonum)},
	{name: "tank", may: rooms("quantity", "finding", "wording"), outside: rooms(gonum)},
	{name: "contents", may: rooms("quantity", "finding", "wording", "doubt"), outside: rooms(gonum)},
	{name: "circuit", may: rooms("quantity", "finding", "wording", "doubt"), outside: rooms(gonum)},
	// first floor
	{name: "tankfile", may: rooms("quantity", "finding", "wording", "strict", "tank"), outside: rooms(gonum, jsonschema)},
	{name: "readings", may: rooms("quantity", "wording", "keep", "curve")},
	{name: "span", may: rooms("quantity", "finding", "scale", "curve", "doubt"), outside: rooms(gonum)},
	{name: "drift", may: rooms("quantity", "finding", "wording", "scale", "doubt", "curve", "span"), outside: rooms(gonum)},
	{name: "kin", may: rooms("quantity", "finding", "wording", "keep", "strict", "doubt", "curve"), outside: rooms(gonum, jsonschema)},
	{name: "gauge", may: rooms("quantity", "contents", "circuit", "finding", "scale", "curve", "doubt", "tank", "span"), outside: rooms(gonum)},
	{name: "lookup", may: rooms("quantity", "finding", "scale", "curve", "gauge", "span", "circuit"), outside: rooms(gonum)},
	{name: "job", may: rooms("quantity", "contents", "circuit", "finding", "wording", "keep", "scale", "curve", "doubt", "tank", "span", "gauge", "readings", "strict", "tankfile", "drift", "kin"), outside: rooms(jsonschema)},
	{name: "tag", may: rooms("quantity", "wording", "scale", "curve", "span", "strict", "tankfile", "kin", "job"), outside: rooms(cbor, qr)},
	{name: "sitting", may: rooms("quantity", "finding", "wording", "scale", "curve", "span", "gauge", "tank", "tankfile", "kin", "job")},
	{name: "watch", may: rooms("quantity", "finding", "wording", "scale", "doubt", "curve", "tank", "contents", "circuit", "span", "gauge"), outside: rooms(gonum)},
	{name: "history", may: rooms("quantity", "wording", "series", "watch")},
	{name: "outlook", may: rooms("quantity", "wording", "doubt"), outside: rooms(gonum)},
	{name: "flow", may: rooms("quantity", "wording", "doubt", "gauge", "watch", "outlook"), outside: rooms(gonum)},
	{name: "docket", may: rooms("quantity", "finding", "wording", "scale", "doubt", "contents", "gauge", "watch", "flow"), outside: rooms(gonum)},
	{name: "alarm", may: rooms("quantity", "wording", "doubt", "watch", "outlook", "flow")},
	{name: "notice", may: rooms("wording")},
	{name: "fitted", may: rooms("quantity", "finding", "wording", "scale", "doubt", "curve", "tank", "contents", "circuit", "span", "gauge", "job", "watch", "docket", "outlook", "flow")},
	{name: "recording", may: rooms("quantity", "finding", "wording", "keep", "readings", "watch")},
	{name: "vehicle", may: rooms("quantity", "wording", "tank", "watch"), outside: rooms(gonum)},
	// second floor
	{name: "chart", may: rooms("quantity")},
	{name: "record", may: rooms("language", "wording", "drift", "kin", "tag", "quantity", "contents", "circuit", "finding", "scale", "curve", "doubt", "readings", "span", "gauge", "job", "chart", "tank"), outside: rooms(fpdf)},
	{name: "telling", may: rooms("drift", "kin", "tag", "quantity", "contents", "circuit", "finding", "wording", "scale", "doubt", "curve", "tank", "tankfile", "span", "gauge", "lookup", "job")},
	// edges, which never import one another
	{name: "feed/meter", may: rooms("quantity", "curve", "sitting"), outside: rooms(serial), kind: edge},
	{name: "feed/meter/simulated", kind: edge},
	{name: "feed", may: rooms("quantity", "watch"), kind: edge},
	{name: "feed/mqtt", may: rooms("quantity", "wording", "watch", "feed"), outside: rooms(mochi, paho5, paho3), kind: edge},
	{name: "feed/mqtt/simulated", may: rooms("quantity", "wording", "watch", "vehicle", "feed"), outside: rooms(paho5), kind: edge},
	{name: "feed/port", outside: rooms(serial), kind: edge},
	{name: "feed/modbus", may: rooms("quantity", "wording", "watch", "feed", "feed/port"), kind: edge},
	{name: "feed/can", may: rooms("quantity", "wording", "watch", "feed"), outside: rooms(canbus), kind: edge},
	{name: "feed/xdr", may: rooms("quantity", "wording", "watch", "feed", "feed/port"), kind: edge},
	{name: "feed/lines", may: rooms("quantity", "wording", "watch", "feed", "feed/port"), kind: edge},
	{name: "feed/post", may: rooms("quantity", "wording", "watch", "feed"), kind: edge},
	{name: "feed/file", may: rooms("quantity", "wording", "recording", "watch", "feed"), kind: edge},
	{name: "certificate", may: rooms("keep"), kind: edge},
	{name: "notice/mail", may: rooms("wording", "notice"), outside: rooms(gomail), kind: edge},
	{name: "notice/hook", may: rooms("wording", "notice"), kind: edge},
	{name: "notice/push", may: rooms("wording", "notice"), kind: edge},
	{name: "store/sqlite", may: rooms("quantity", "job", "strict", "keep", "watch", "series", "history", "doors", "flow", "outlook", "docket", "alarm", "notice"), outside: rooms(sqlite), kind: edge},
	{name: "web", may: rooms("language", "drift", "kin", "tag", "quantity", "contents", "circuit", "finding", "wording", "scale", "doubt", "curve", "readings", "tank", "tankfile", "strict", "span", "gauge", "lookup", "job", "sitting", "chart", "record", "telling", "watch", "history", "doors", "outlook", "flow", "docket", "alarm", "notice"), outside: rooms(scs), kind: edge},
	{name: "api", may: rooms("quantity", "gauge", "wording", "job", "watch", "history", "doors", "outlook", "flow", "docket", "alarm", "notice"), outside: rooms(huma, prometheus), kind: edge},
	// beside the house
	{name: "store/storetest", may: rooms("job", "curve", "quantity"), outside: rooms(cmp), kind: support},
	{name: "feed/feedtest", may: rooms("watch", "feed"), outside: rooms(toml), kind: support},
	{name: "peer", kind: support},
	{name: "golden", outside: rooms(cmp), kind: support},
	{name: "browser", may: rooms("peer"), outside: rooms(chromedp, cdproto), kind: support},
	{name: "archtest", kind: support},
	{name: "tools/elfstatic", kind: program},
	{name: "tools/testlog", kind: program},
	// wiring
	{name: "station", may: rooms("outlook", "flow", "docket", "alarm", "notice", "notice/mail", "notice/hook", "notice/push", "contents", "history", "doors", "certificate", "api", "doubt", "language", "quantity", "wording", "keep", "job", "watch", "fitted", "recording", "feed", "feed/mqtt", "feed/modbus", "feed/can", "feed/xdr", "feed/lines", "feed/post", "feed/file", "store/sqlite", "web"), outside: rooms(toml, systemd), kind: edge},
	{name: "tools/mqttload", may: rooms("watch", "feed/mqtt", "store/sqlite", "station"), outside: rooms(mochi), kind: program},
	{name: "tools/powercut", may: rooms("watch", "history", "store/sqlite"), kind: program},
	{name: "tools/month", may: rooms("watch", "history", "vehicle", "store/sqlite"), kind: program},
	{name: "app", may: rooms("outlook", "flow", "docket", "alarm", "notice", "keep", "history", "doors", "certificate", "api", "wording", "station", "watch", "fitted", "recording", "vehicle", "feed", "feed/mqtt/simulated", "language", "kin", "quantity", "curve", "strict", "job", "sitting", "chart", "record", "telling", "feed/meter", "feed/meter/simulated", "store/sqlite", "web"), outside: rooms(scs, systemd), kind: edge},
	{name: "cmd/gaugewright", may: rooms("outlook", "flow", "docket", "alarm", "notice", "history", "doors", "app", "station", "watch", "fitted", "recording", "vehicle", "language", "drift", "kin", "tag", "strict", "telling", "sitting", "quantity", "finding", "wording", "keep", "scale", "doubt", "curve", "readings", "span", "gauge", "job", "chart", "record", "tank", "tankfile", "contents", "circuit", "lookup"),
		outside: rooms(kong, jsonschema, term), kind: program},
}

// testsMay are the rooms that any _test.go file may import besides those of
// its own room: the ways to ask someone else, a reader for test data, what
// several tests stand on, and the languages that its sentences are said in.
var testsMay = rooms("language", "series", "peer", "browser", "golden", "readings", "store/storetest", "store/sqlite", "feed/feedtest", "feed/meter/simulated")

const (
	module     = "gaugewright"
	gonum      = "gonum.org/v1/gonum"
	kong       = "github.com/alecthomas/kong"
	jsonschema = "github.com/santhosh-tekuri/jsonschema/v6"
	chromedp   = "github.com/chromedp/chromedp"
	cdproto    = "github.com/chromedp/cdproto"
	cmp        = "github.com/google/go-cmp"
	sqlite     = "modernc.org/sqlite"
	serial     = "go.bug.st/serial"
	scs        = "github.com/alexedwards/scs/v2"
	fpdf       = "codeberg.org/go-pdf/fpdf"
	term       = "golang.org/x/term"
	xtext      = "golang.org/x/text"
	xnet       = "golang.org/x/net"
	cbor       = "github.com/fxamacker/cbor/v2"
	qr         = "rsc.io/qr"
	mochi      = "github.com/mochi-mqtt/server/v2"
	paho5      = "github.com/eclipse/paho.golang"
	paho3      = "github.com/eclipse/paho.mqtt.golang"
	canbus     = "go.einride.tech/can"
	toml       = "github.com/BurntSushi/toml"
	huma       = "github.com/danielgtaylor/huma/v2"
	prometheus = "github.com/prometheus/client_golang"
	promformat = "github.com/prometheus/common"
	xcrypto    = "golang.org/x/crypto"
	gomail     = "github.com/wneessen/go-mail"
	systemd    = "github.com/coreos/go-systemd/v22"
)

// binaryModules are all the modules whose code may end up in the binary. Each
// one more is code that has to be trusted in a workshop without internet.
var binaryModules = rooms(
	kong,
	jsonschema,
	gonum,
	xtext, // jsonschema's too, for its messages
	xnet,
	cbor,
	"github.com/x448/float16", // cbor's
	qr,
	sqlite,
	"modernc.org/libc", // sqlite's, from here to bigfft
	"modernc.org/mathutil",
	"modernc.org/memory",
	"github.com/dustin/go-humanize",
	"github.com/google/uuid",
	"github.com/mattn/go-isatty",
	"github.com/ncruces/go-strftime",
	"github.com/remyoudompheng/bigfft",
	"golang.org/x/sys", // sqlite's, serial's and term's
	serial,
	scs,
	fpdf,
	term,
	mochi,
	"github.com/rs/xid",            // mochi's
	"github.com/gorilla/websocket", // mochi's and paho's
	paho5,
	paho3,
	"golang.org/x/sync", // paho3's
	canbus,
	toml,
	huma,
	prometheus,
	"github.com/beorn7/perks", // prometheus', from here to protobuf
	"github.com/cespare/xxhash/v2",
	"github.com/munnerz/goautoneg",
	"github.com/prometheus/client_model",
	promformat,
	"github.com/prometheus/procfs",
	"google.golang.org/protobuf",
	xcrypto,
	systemd,
	gomail,
)

// noNames say nothing about what is inside, so everything ends up in them.
var noNames = rooms("util", "utils", "common", "types", "helper", "helpers", "misc", "shared", "base")

// clocks are the functions of package time that read the clock or wait for it.
var clocks = rooms("Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker")

func rooms(names ...string) []string { return names }
