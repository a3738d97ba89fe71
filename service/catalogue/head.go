package catalogue

import (
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Head is what the index holds of one revision: everything but its content. It
// is immutable and shared: what it refers to must not be modified.
type Head struct {
	// PublishedSpec is the revision as the store has it, without its sheet.
	store.PublishedSpec
	// ModelAliases, Description and Invented are those of the sheet. They are
	// empty when the sheet could not be read.
	ModelAliases []string
	Description  string
	Invented     bool

	covers *coverage // nil when the sheet could not be read
}

// CoversVIN reports whether the revision is for that machine. It does not look
// at the check digit. One whose sheet could not be read covers every VIN: so it
// may be chosen, which fails then, but is never passed over for another.
func (h *Head) CoversVIN(v vin.VIN) bool { return h.covers == nil || h.covers.Contains(v) }

// width is a measure of how many VINs are covered.
func (h *Head) width() float64 {
	if h.covers == nil {
		return 0
	}
	return h.covers.width
}

// counts reports whether the revision stood at a time, as the store knew it: it
// was recorded, and not withdrawn. The zero time is the end of time.
func (h *Head) counts(known time.Time) bool {
	return h.recordedBy(known) && !h.withdrawnBy(known)
}

func (h *Head) recordedBy(known time.Time) bool {
	return known.IsZero() || !h.RecordedTime.After(known)
}

func (h *Head) withdrawnBy(known time.Time) bool {
	return h.Withdrawn != nil && (known.IsZero() || !h.Withdrawn.After(known))
}

// headOf makes the head of a change that published a revision. What can change
// is as the change left it, whatever the store has by now. The sheet is nil when
// it could not be read. What is written as in the revision before, which may be
// nil, is shared with it.
func headOf(c store.Change, p store.PublishedSpec, sheet *pb.SpecSheet, before *Head) *Head {
	h := &Head{PublishedSpec: store.PublishedSpec{
		SpecID: c.SpecID, Revision: c.Revision, Digest: c.Digest,
		Make: c.Make, Model: c.Model, ModelYear: c.ModelYear, Market: c.Market,
		ChangeNote: p.ChangeNote, SourceDocument: p.SourceDocument, CharacteristicCount: p.CharacteristicCount,
		EffectiveTime: c.EffectiveTime, RecordedTime: c.RecordedTime, Position: c.Position,
		Etag: store.SpecEtag(c.Digest, false),
	}}
	if sheet != nil {
		h.ModelAliases, h.Description, h.Invented = sheet.GetModelAliases(), sheet.GetDescription(), sheet.GetInvented()
		h.covers = compileCoverage(sheet.GetVin())
	}
	if before == nil {
		return h
	}
	share(&h.SpecID, before.SpecID)
	share(&h.Make, before.Make)
	share(&h.Model, before.Model)
	share(&h.Market, before.Market)
	share(&h.SourceDocument, before.SourceDocument)
	share(&h.Description, before.Description)
	if slices.Equal(h.ModelAliases, before.ModelAliases) {
		h.ModelAliases = before.ModelAliases
	}
	if h.covers != nil && before.covers != nil && h.covers.same(before.covers) {
		h.covers = before.covers
	}
	return h
}

// share puts an equal text in place of one, so that one of the two is freed.
func share(text *string, other string) {
	if *text == other {
		*text = other
	}
}

// withdrawn returns the head as a withdrawal leaves it.
func (h *Head) withdrawn(c store.Change) *Head {
	after := *h
	after.Withdrawn, after.WithdrawReason = &c.RecordedTime, c.Reason
	after.Etag = store.SpecEtag(h.Digest, true)
	return &after
}

// headFields returns a sheet with nothing in it but what a [Head] needs.
func headFields(sheet *pb.SpecSheet) *pb.SpecSheet {
	return &pb.SpecSheet{
		ModelAliases: sheet.GetModelAliases(), Description: sheet.GetDescription(),
		Invented: sheet.GetInvented(), Vin: sheet.GetVin(),
	}
}
