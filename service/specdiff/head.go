package specdiff

import (
	"fmt"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// head compares what stands above the characteristics. The names of the sheets
// are told apart anyway, and what a plan is computed from counts as head.
func (c *comparison) head() []*pb.FieldChange {
	d := &change{}
	b, a := c.before.sheet, c.after.sheet
	d.value("effective_time", "in force from", sayTime(b.GetEffectiveTime()), sayTime(a.GetEffectiveTime()))
	d.value("change_note", "change note", b.GetChangeNote(), a.GetChangeNote())
	d.value("source_document", "source document", b.GetSourceDocument(), a.GetSourceDocument())
	if b.GetInvented() != a.GetInvented() {
		d.field("invented", "invented for demonstration", sayYes(b.GetInvented()), sayYes(a.GetInvented()))
	}
	d.value("make", "maker", b.GetMake(), a.GetMake())
	d.value("model", "model", b.GetModel(), a.GetModel())
	list(d, "model_aliases", "other names of the model", ", ", b.GetModelAliases(), a.GetModelAliases())
	d.value("model_year", "model year", strconv.Itoa(int(b.GetModelYear())), strconv.Itoa(int(a.GetModelYear())))
	d.value("market", "market", b.GetMarket(), a.GetMarket())
	d.value("description", "description", b.GetDescription(), a.GetDescription())
	coverage(d, b.GetVin(), a.GetVin())
	list(d, "cautions", "cautions for the whole machine", " ", b.GetCautions(), a.GetCautions())
	if c.before.guard != c.after.guard {
		d.field("guard_band_multiplier", "guard band", c.before.sayGuard(), c.after.sayGuard())
	}
	leastTimes(d, b.GetLeastTimes(), a.GetLeastTimes())
	c.planning(d)
	return d.fields
}

// list notes a list of texts that differs otherwise than in order.
func list(d *change, path, label, between string, before, after []string) {
	if !changeOf(before, after, same).none() {
		d.field(path, label, strings.Join(before, between), strings.Join(after, between))
	}
}

// sayGuard says the guard band and what it is for.
func (s side) sayGuard() string {
	n := 0
	for _, ch := range s.job {
		if guarded(ch) {
			n++
		}
	}
	return fmt.Sprintf("%g times the expanded uncertainty, for %s by guarded acceptance", s.guard, numbered(n, "characteristic"))
}

// coverage compares for which machines the sheet or a bulletin is. One that is
// not stated is for all.
func coverage(d *change, before, after *pb.VinCoverage) {
	list(d, "vin.patterns", "VINs", ", ", before.GetPatterns(), after.GetPatterns())
	d.value("vin.serial_from", "first serial number", before.GetSerialFrom(), after.GetSerialFrom())
	d.value("vin.serial_to", "last serial number", before.GetSerialTo(), after.GetSerialTo())
	if before.GetCheckDigit() != after.GetCheckDigit() {
		d.field("vin.check_digit", "check digit in the VIN", sayYes(before.GetCheckDigit()), sayYes(after.GetCheckDigit()))
	}
}
