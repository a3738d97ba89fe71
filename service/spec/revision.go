package spec

import (
	"fmt"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Revision is one immutable state of a spec sheet that passed every check. Make
// one with [NewRevision], [Published] or [Load]. It is safe for concurrent use.
type Revision struct {
	sheet         *pb.SpecSheet
	digest        string
	effective     time.Time
	base          *content
	optionPlace   map[string]int
	bulletinPlace map[string]int
	covers        Coverage
	bulletins     []Coverage // of each bulletin on the sheet

	indexes indexCache
	indexMu sync.Mutex
}

// NewRevision checks a copy of the sheet and makes it a revision. It returns a
// *[SheetError] with everything that is wrong with it (see [Lint]).
func NewRevision(sheet *pb.SpecSheet) (*Revision, error) {
	return newRevision(proto.Clone(sheet).(*pb.SpecSheet))
}

// Published makes a revision of a copy of a sheet that has been published. It was
// checked on that day, by the checks of that day, and is not checked again: what
// was in force stays in force, however strict checks become. The error is a
// *[SheetError] and means that the sheet has no canonical form.
func Published(sheet *pb.SpecSheet) (*Revision, error) {
	return prepare(proto.Clone(sheet).(*pb.SpecSheet))
}

// newRevision is [NewRevision] for a sheet that nobody else holds.
func newRevision(sheet *pb.SpecSheet) (*Revision, error) {
	if problems := Lint(sheet); len(problems) > 0 {
		return nil, &SheetError{Problems: problems}
	}
	return prepare(sheet)
}

// prepare makes a revision of a sheet that has been checked.
func prepare(sheet *pb.SpecSheet) (*Revision, error) {
	digest, err := Digest(sheet)
	if err != nil {
		return nil, &SheetError{Problems: []Problem{{Message: err.Error()}}}
	}
	r := &Revision{
		sheet:         sheet,
		digest:        digest,
		effective:     sheet.GetEffectiveTime().AsTime(),
		base:          newContent(sheet.GetCharacteristics(), sheet.GetRules()),
		optionPlace:   make(map[string]int, len(sheet.GetOptions())),
		bulletinPlace: make(map[string]int, len(sheet.GetBulletins())),
		covers:        CompileCoverage(sheet.GetVin()),
		bulletins:     make([]Coverage, len(sheet.GetBulletins())),
	}
	for i, option := range sheet.GetOptions() {
		r.optionPlace[option.GetId()] = i
	}
	for i, bulletin := range sheet.GetBulletins() {
		r.bulletinPlace[bulletin.GetId()] = i
		r.bulletins[i] = CompileCoverage(bulletin.GetVin())
	}
	return r, nil
}

// Sheet returns the whole sheet. It is shared and must not be modified.
func (r *Revision) Sheet() *pb.SpecSheet { return r.sheet }

// SpecID returns the identifier of the spec, such as "marten-250t-2026-eu".
func (r *Revision) SpecID() string { return r.sheet.GetSpecId() }

// Number returns the number of the revision, from 1.
func (r *Revision) Number() int { return int(r.sheet.GetRevision()) }

// Name returns the resource name, specs/{spec}/revisions/{revision}.
func (r *Revision) Name() string {
	return fmt.Sprintf("%s/revisions/%d", r.SpecName(), r.Number())
}

// SpecName returns the resource name of the spec, specs/{spec}.
func (r *Revision) SpecName() string { return "specs/" + r.SpecID() }

// Digest returns the [Digest] of the sheet.
func (r *Revision) Digest() string { return r.digest }

// EffectiveTime returns the instant from which the revision is in force, in
// UTC.
func (r *Revision) EffectiveTime() time.Time { return r.effective }

// Proto returns the revision without its content, as the API shows it. The
// message is the caller's.
func (r *Revision) Proto() *pb.SpecRevision {
	return &pb.SpecRevision{
		Name:                r.Name(),
		Revision:            r.sheet.GetRevision(),
		Digest:              r.digest,
		EffectiveTime:       timestamppb.New(r.effective),
		ChangeNote:          r.sheet.GetChangeNote(),
		SourceDocument:      r.sheet.GetSourceDocument(),
		CharacteristicCount: int32(len(r.sheet.GetCharacteristics())),
	}
}

// CoversVIN reports whether the sheet is for that machine: one of its patterns
// matches and the serial number lies in its range. It does not look at the
// check digit.
func (r *Revision) CoversVIN(v vin.VIN) bool { return r.covers.Contains(v) }

// Bulletins returns the identifiers, in sheet order, of the bulletins that hold
// for that machine at that time. With an empty v, the machine is not known and
// only bulletins for every machine count: those that hold for some are told by
// [Match].Notes.
func (r *Revision) Bulletins(v vin.VIN, asOf time.Time) []string {
	var ids []string
	for i, bulletin := range r.sheet.GetBulletins() {
		if asOf.Before(bulletin.GetEffectiveTime().AsTime()) {
			continue
		}
		if bulletin.GetVin() == nil || r.bulletins[i].Contains(v) {
			ids = append(ids, bulletin.GetId())
		}
	}
	return ids
}

// bulletinsForSome returns the identifiers, in sheet order, of the bulletins in
// force at that time that are not for every machine.
func (r *Revision) bulletinsForSome(asOf time.Time) []string {
	var ids []string
	for _, bulletin := range r.sheet.GetBulletins() {
		if bulletin.GetVin() != nil && !asOf.Before(bulletin.GetEffectiveTime().AsTime()) {
			ids = append(ids, bulletin.GetId())
		}
	}
	return ids
}
