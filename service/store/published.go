package store

import (
	"fmt"
	"regexp"
	"strconv"
	"time"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// PublishedSpec is one immutable revision of a spec sheet as it is stored.
type PublishedSpec struct {
	// SpecID names the spec, such as "marten-250t-2026-eu".
	SpecID string
	// Revision is the number of the revision, from 1.
	Revision int
	// Digest is the SHA-256 of the sheet's canonical form, in hexadecimal.
	Digest string

	// What the sheet's head says.
	Make, Model         string
	ModelYear           int
	Market              string
	ChangeNote          string
	SourceDocument      string
	CharacteristicCount int

	// EffectiveTime is the first of two clocks: from when on the revision is in
	// force, in UTC, cut to whole microseconds.
	EffectiveTime time.Time
	// RecordedTime is the second clock: when it was published, in UTC, in whole
	// microseconds.
	RecordedTime time.Time
	// Position is that of the change that published it.
	Position int64

	// Withdrawn is when it was withdrawn, nil when it was not. With
	// WithdrawReason and Etag it is all that changes about a revision, and it
	// changes once.
	Withdrawn *time.Time
	// WithdrawReason is why.
	WithdrawReason string
	// Etag stands for the revision as it is: another one once it is withdrawn.
	// It is opaque.
	Etag string

	// Sheet is the whole sheet, nil in a history. Fields that this release does
	// not know are not in the canonical form and therefore not kept.
	Sheet *pb.SpecSheet
}

// MaxReason is the greatest length of the reason of a withdrawal in bytes.
const MaxReason = 2048

// MaxRevision is the greatest number of a revision.
const MaxRevision = 100_000

var specIDPattern = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// ValidSpecID says whether id has the shape of a spec's id.
func ValidSpecID(id string) bool { return len(id) <= 63 && specIDPattern.MatchString(id) }

// SpecName returns the resource name of a spec, specs/{spec}.
func SpecName(specID string) string { return "specs/" + specID }

// RevisionName returns the resource name of a revision,
// specs/{spec}/revisions/{revision}.
func RevisionName(specID string, revision int) string {
	return SpecName(specID) + "/revisions/" + strconv.Itoa(revision)
}

// Name returns the resource name of the revision.
func (p PublishedSpec) Name() string { return RevisionName(p.SpecID, p.Revision) }

// SpecEtag returns the etag of a revision. It is for stores.
func SpecEtag(digest string, withdrawn bool) string {
	if withdrawn {
		return digest[:32] + "-w"
	}
	return digest[:32]
}

// Check returns an error that wraps [ErrInvalidSpec] and names the first field
// that keeps p from being published. It looks only at what a store relies on;
// sheets are checked by package spec before.
func (p PublishedSpec) Check() error {
	sheet := p.Sheet
	switch {
	case sheet == nil:
		return badSpec("sheet", "none", "one")
	case p.SpecID != "" && p.SpecID != sheet.GetSpecId():
		return badSpec("spec id", quote(p.SpecID), quote(sheet.GetSpecId())+" as the sheet says")
	case p.Revision != 0 && p.Revision != int(sheet.GetRevision()):
		return badSpec("revision", strconv.Itoa(p.Revision), fmt.Sprintf("%d as the sheet says", sheet.GetRevision()))
	case !ValidSpecID(sheet.GetSpecId()):
		return badSpec("spec_id", quote(sheet.GetSpecId()), "words of a-z and 0-9 with hyphens between, at most 63 characters")
	case sheet.GetRevision() < 1 || sheet.GetRevision() > MaxRevision:
		return badSpec("revision", strconv.Itoa(int(sheet.GetRevision())), fmt.Sprintf("1 to %d", MaxRevision))
	case sheet.GetEffectiveTime() == nil || !sheet.GetEffectiveTime().IsValid():
		return badSpec("effective_time", "none or one out of range", "a time from year 1 to year 9999")
	case p.Withdrawn != nil || p.WithdrawReason != "":
		return badSpec("withdrawn", "one", "nothing in a new revision")
	}
	return checkRecorded("recorded time", p.RecordedTime)
}

// CheckWithdrawal returns an error that wraps [ErrInvalidSpec] when a withdrawal
// can not be stored.
func CheckWithdrawal(reason string, at time.Time) error {
	if reason == "" || len(reason) > MaxReason || !utf8.ValidString(reason) {
		return badSpec("reason", quote(reason), fmt.Sprintf("a text of at most %d bytes", MaxReason))
	}
	return checkRecorded("time of withdrawal", at)
}

func checkRecorded(name string, t time.Time) error {
	if t.IsZero() || t.Year() < 1 || t.Year() > 9999 {
		return badSpec(name, t.Format(time.RFC3339), "a time from year 1 to year 9999")
	}
	return nil
}

func badSpec(field, got, wanted string) error {
	return fmt.Errorf("%w: %s: got %s, wanted %s", ErrInvalidSpec, field, got, wanted)
}

// Describe fills everything in p that its sheet says, and the digest of the
// canonical form, which it returns. p must pass Check. An error wraps
// [ErrInvalidSpec]: the sheet has no canonical form, or not the digest that p
// says. It is for stores.
func (p *PublishedSpec) Describe() (canonical []byte, err error) {
	canonical, digest, err := canonicalForm(p.Sheet)
	if err != nil {
		return nil, err
	}
	if p.Digest != "" && p.Digest != digest {
		return nil, badSpec("digest", quote(p.Digest), digest+" as the sheet has")
	}
	p.Digest = digest
	p.SpecID = p.Sheet.GetSpecId()
	p.Revision = int(p.Sheet.GetRevision())
	p.Make, p.Model = p.Sheet.GetMake(), p.Sheet.GetModel()
	p.ModelYear, p.Market = int(p.Sheet.GetModelYear()), p.Sheet.GetMarket()
	p.ChangeNote, p.SourceDocument = p.Sheet.GetChangeNote(), p.Sheet.GetSourceDocument()
	p.CharacteristicCount = len(p.Sheet.GetCharacteristics())
	p.EffectiveTime = wholeMicros(p.Sheet.GetEffectiveTime().AsTime())
	p.RecordedTime = wholeMicros(p.RecordedTime)
	p.Etag = SpecEtag(digest, false)
	return canonical, nil
}

func canonicalForm(sheet *pb.SpecSheet) (canonical []byte, digest string, err error) {
	canonical, err = spec.Canonical(sheet)
	if err != nil {
		return nil, "", fmt.Errorf("%w: %v", ErrInvalidSpec, err)
	}
	return canonical, digestOf(canonical), nil
}

// wholeMicros cuts a time to whole microseconds, towards the past.
func wholeMicros(t time.Time) time.Time { return time.UnixMicro(t.UnixMicro()).UTC() }
