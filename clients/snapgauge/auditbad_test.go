package main

import (
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// An error is said as snapgauge check says it.
func TestErrorsOfRecordsAreSaidPlainly(t *testing.T) {
	for message, want := range map[string]string{
		"shop: does not match regex pattern `^[a-z0-9]$`":                        "shop: want small letters, digits and hyphens, such as ridge-cycles",
		"unit.market: does not match regex pattern `^[A-Z]{2}$` (and 1 more)":    "unit.market: want two capital letters, such as US or EU (and 1 more)",
		"readings[3].characteristic: does not match regex pattern `^[a-z: ]+$`":  "readings[3].characteristic: want small letters, digits and underscores, such as oil_drain_bolt",
		"record.readings[0].unit: oil_tank_fill: got mm (length), want a volume": "readings[0].unit: oil_tank_fill: got mm (length), want a volume",
		"technician: does not match regex pattern `^[^\\p{C}]*$`":                "technician: does not match regex pattern `^[^\\p{C}]*$`",
		"column 9: shop: got the number 5":                                       "column 9: shop: got the number 5",
		"":                                                                       "",
	} {
		e := &pb.AuditError{Message: message}
		if plainly(e); e.GetMessage() != want {
			t.Errorf("%s: got %s, want %s", message, e.GetMessage(), want)
		}
	}
	plainly(nil)
}
