package render

import (
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// units says which units a bulletin is for: "serial 000240 to 000655". Without
// ends to the serials it is by the patterns of the VINs; without those, empty.
func units(c *pb.VinCoverage) string {
	from, to := c.GetSerialFrom(), c.GetSerialTo()
	switch {
	case from != "" && from == to:
		return "serial " + from
	case from != "" && to != "":
		return "serial " + from + " to " + to
	case from != "":
		return "from serial " + from + " on"
	case to != "":
		return "up to serial " + to
	}
	return prefixed("VIN ", strings.Join(c.GetPatterns(), " or "))
}

// bulletinNote says what a bulletin for some units makes of a characteristic, of
// which the sheet says specified: "serial 000240 to 000655: 8 N·m (7 to 9),
// service notice N26-03".
func bulletinNote(n *pb.BulletinNote, specified string, system quantity.System) string {
	who := units(&pb.VinCoverage{SerialFrom: n.GetSerialFrom(), SerialTo: n.GetSerialTo(), Patterns: n.GetVinPatterns()})
	if who == "" {
		who = "some units"
	}
	now := Specified(n.GetCharacteristic(), system)
	what := ""
	switch n.GetEffect() {
	case pb.BulletinEffect_BULLETIN_EFFECT_ADDS:
		what = "only these have it"
		if now != specified {
			what += ", " + now
		}
	case pb.BulletinEffect_BULLETIN_EFFECT_REMOVES:
		what = "these do not have it"
	default:
		what = now
		if now == specified || now == "" { // it changes something else
			what = n.GetTitle()
		}
	}
	whence := n.GetSource()
	if whence == "" {
		whence = n.GetBulletin()
	}
	return join(", ", who+": "+what, whence)
}
