package store

import (
	"fmt"
	"regexp"
	"strings"
	"time"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Setup is one judged set-up record as it is stored.
type Setup struct {
	// ID names the setup: 1 to 64 of lower-case letters, digits and hyphens.
	// Among setups of one microsecond it decides the order, so ids that sort
	// by time (UUIDv7) keep lists in order of arrival.
	ID string
	// RequestID is the caller's identifier of the submit, unique in the shop.
	RequestID string
	// Shop is the shop that the record belongs to; the record says the same.
	Shop string
	// Record is what was submitted, without its expectation.
	Record *pb.SetupRecord
	// Report is how it was judged.
	Report *pb.Report
	// CreateTime is when it was stored. Stores keep whole microseconds.
	CreateTime time.Time
	// SupersededBy is the id of the setup that corrects this one, or "". It is
	// the only thing about a stored setup that changes, and it changes once.
	SupersededBy string
}

const namePrefix = "setups/"

var idPattern = regexp.MustCompile(`^[a-z0-9-]{1,64}$`)

// ValidID says whether id has the shape of a setup's id.
func ValidID(id string) bool { return idPattern.MatchString(id) }

// Name returns the resource name of the setup with that id, setups/{id}.
func Name(id string) string { return namePrefix + id }

// ParseName returns the id in a resource name setups/{id}. ok is false when it
// is not one.
func ParseName(name string) (id string, ok bool) {
	id, ok = strings.CutPrefix(name, namePrefix)
	if !ok || !ValidID(id) {
		return "", false
	}
	return id, true
}

// Supersedes returns the id of the setup that this one corrects, or "". It
// expects a setup that [Setup.Check] accepts.
func (s Setup) Supersedes() string {
	id, _ := ParseName(s.Record.GetSupersedes())
	return id
}

// Check returns an error that wraps [ErrInvalidSetup] and names the first field
// that keeps s from being submitted. It looks only at what a store relies on;
// the shape of a record is checked before it is judged.
func (s Setup) Check() error {
	bad := func(field, got, wanted string) error {
		return fmt.Errorf("%w: %s: got %s, wanted %s", ErrInvalidSetup, field, got, wanted)
	}
	switch {
	case !ValidID(s.ID):
		return bad("id", quote(s.ID), "1 to 64 of a-z, 0-9 and hyphen")
	case s.RequestID == "" || !utf8.ValidString(s.RequestID):
		return bad("request id", quote(s.RequestID), "a text")
	case s.Shop == "" || !utf8.ValidString(s.Shop):
		return bad("shop", quote(s.Shop), "a text")
	case s.Record == nil:
		return bad("record", "none", "one")
	case s.Record.GetShop() != s.Shop:
		return bad("record.shop", quote(s.Record.GetShop()), quote(s.Shop)+" as the setup says")
	case s.Record.GetUnit() == nil:
		return bad("record.unit", "none", "one")
	case s.Record.GetFinishTime() == nil || !s.Record.GetFinishTime().IsValid():
		return bad("record.finish_time", "none or one out of range", "a time from year 1 to year 9999")
	case s.Report == nil:
		return bad("report", "none", "one")
	case s.CreateTime.Year() < 1 || s.CreateTime.Year() > 9999 || s.CreateTime.IsZero():
		return bad("create time", s.CreateTime.Format(time.RFC3339), "a time from year 1 to year 9999")
	case s.SupersededBy != "":
		return bad("superseded by", quote(s.SupersededBy), "nothing in a new setup")
	}
	if name := s.Record.GetSupersedes(); name != "" {
		if _, ok := ParseName(name); !ok {
			return bad("record.supersedes", quote(name), "setups/{id}")
		}
	}
	return nil
}

// quote prints a text of a caller, shortened.
func quote(s string) string { return fmt.Sprintf("%.80q", s) }
