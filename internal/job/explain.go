package job

import (
	"fmt"
	"math/big"
	"path"
	"strconv"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6/kind"

	"gaugewright/internal/curve"
	"gaugewright/internal/strict"
	"gaugewright/internal/tankfile"
	"gaugewright/internal/wording"
)

// explain has the sentences on what the schema found that only a job can be
// wrong with; nil leaves the rest to the reader.
func explain(v strict.Violation) []strict.Problem {
	// The schema of tank files is a part of this one, under its own name.
	if root, at, found := strings.Cut(v.Schema, "#/$defs/tank_file/"); found {
		v.Schema = path.Dir(root) + "/tank-v1.schema.json#/" + at
		return tankfile.Explain(v)
	}
	switch k := v.Kind.(type) {
	case *kind.Maximum:
		if v.Field() == "permitted_fill_pct" && k.Want.Cmp(big.NewRat(MaxLPGFillPct, 1)) == 0 {
			return v.Say("%s", lpgFillTooHigh(v.Value))
		}
	case *kind.Required:
		if !strings.Contains(v.Schema, "/setting/") || !strings.Contains(v.Schema, "/then") {
			return nil
		}
		var out []strict.Problem
		for _, name := range k.Missing {
			out = append(out, strict.Problem{Path: v.Path, Missing: []string{name},
				Msg: fmt.Sprintf("missing field %q, which %s has", name, aReadout(readoutOf(v.Value)))})
		}
		return out
	case *kind.OneOf:
		if isLoad(v.Schema) {
			return rateless(v)
		}
		if own := electrical(v); own != nil {
			return own
		}
		return marks(v)
	case *kind.MinItems:
		return pair(v, k.Got)
	case *kind.MaxItems:
		return pair(v, k.Got)
	case *kind.FalseSchema:
		if _, operation := v.Parent.(map[string]any)["op"]; operation {
			return v.Say("an operation that removes has no value; delete it")
		}
		return v.Say("%s has no %s; delete it, or correct readout", aReadout(readoutOf(v.Parent)), v.Field())
	}
	return nil
}

// marks says that a reading has no mark, or more than one.
func marks(v strict.Violation) []strict.Problem {
	object, _ := v.Value.(map[string]any)
	var all, there []string
	for _, u := range curve.MarkUnits {
		all = append(all, u.Column())
		if _, ok := object[u.Column()]; ok {
			there = append(there, strconv.Quote(u.Column()))
		}
	}
	if len(there) == 0 {
		return []strict.Problem{{Path: v.Path, Msg: "no mark; expected one of " + strict.AnyOf(all), Missing: all}}
	}
	return v.Say("more than one mark: %s; keep the one that was read and delete the others", wording.Several(there, "and"))
}

// aReadout names a kind of readout with its article.
func aReadout(kind string) string {
	if kind == EndsThenTable {
		return "an " + kind + " readout"
	}
	return "a " + kind + " readout"
}

func readoutOf(setting any) string {
	object, _ := setting.(map[string]any)
	text, _ := object["readout"].(string)
	return text
}

// lpgFillTooHigh refuses a permitted fill that leaves a gas tank too little
// room.
func lpgFillTooHigh(value any) string {
	return fmt.Sprintf("found %s; for lpg no permitted fill above %d is accepted, so that the liquid has room to expand; "+
		"80 is common practice, and the local code governs", strict.Found(value), MaxLPGFillPct)
}
