package row

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// Spec is a revision as columns. Times are microseconds since 1970 UTC.
type Spec struct {
	SpecID              string
	Revision            int64
	Digest              []byte // SHA-256 of Sheet
	Make                string
	Model               string
	ModelYear           int64
	Market              string
	ChangeNote          string
	SourceDocument      string
	CharacteristicCount int64
	EffectiveTime       int64
	RecordedTime        int64
	Sheet               []byte // canonical form
}

// EncodeSpec makes the row of a new revision and returns the revision as it will
// be stored, but for its position and a recorded time that [Head.Recorded] may
// move. An error wraps [store.ErrInvalidSpec].
//
// What is kept is the canonical form itself, not some wire form beside a digest
// of something else: the digest can then be checked at every reading, by any
// release and without it.
func EncodeSpec(p store.PublishedSpec) (Spec, store.PublishedSpec, error) {
	if err := p.Check(); err != nil {
		return Spec{}, store.PublishedSpec{}, err
	}
	canonical, err := p.Describe()
	if err != nil {
		return Spec{}, store.PublishedSpec{}, err
	}
	digest := sha256.Sum256(canonical)
	return Spec{
		SpecID:              p.SpecID,
		Revision:            int64(p.Revision),
		Digest:              digest[:],
		Make:                p.Make,
		Model:               p.Model,
		ModelYear:           int64(p.ModelYear),
		Market:              p.Market,
		ChangeNote:          p.ChangeNote,
		SourceDocument:      p.SourceDocument,
		CharacteristicCount: int64(p.CharacteristicCount),
		EffectiveTime:       p.EffectiveTime.UnixMicro(),
		RecordedTime:        p.RecordedTime.UnixMicro(),
		Sheet:               canonical,
	}, p, nil
}

// Published makes a revision of a row, without its sheet.
func (s Spec) Published(position int64, withdrawn *int64, reason string) store.PublishedSpec {
	digest := hex.EncodeToString(s.Digest)
	p := store.PublishedSpec{
		SpecID:              s.SpecID,
		Revision:            int(s.Revision),
		Digest:              digest,
		Make:                s.Make,
		Model:               s.Model,
		ModelYear:           int(s.ModelYear),
		Market:              s.Market,
		ChangeNote:          s.ChangeNote,
		SourceDocument:      s.SourceDocument,
		CharacteristicCount: int(s.CharacteristicCount),
		EffectiveTime:       Time(s.EffectiveTime),
		RecordedTime:        Time(s.RecordedTime),
		Position:            position,
		Etag:                etag(s.Digest, withdrawn != nil),
	}
	if withdrawn != nil {
		at := Time(*withdrawn)
		p.Withdrawn, p.WithdrawReason = &at, reason
	}
	return p
}

// etag is that of a revision, or "" where a damaged digest allows none.
func etag(digest []byte, withdrawn bool) string {
	if len(digest) != sha256.Size {
		return ""
	}
	return store.SpecEtag(hex.EncodeToString(digest), withdrawn)
}

// DecodeSheet reads a sheet from its canonical form. When that does not have the
// digest, or is no sheet of that spec, the error wraps [store.ErrCorrupt]. One
// that a later release has written, with fields that this one does not know,
// fails otherwise: it is sound, but nothing may be judged by a part of it. b is
// not kept.
func DecodeSheet(b, digest []byte, specID string) (*pb.SpecSheet, error) {
	sum := sha256.Sum256(b)
	if string(sum[:]) != string(digest) {
		return nil, fmt.Errorf("%w: sheet: got SHA-256 %x, wanted %x", store.ErrCorrupt, sum, digest)
	}
	sheet := new(pb.SpecSheet)
	if err := protojson.Unmarshal(b, sheet); err != nil {
		return nil, fmt.Errorf("stored sheet: %w", err)
	}
	if sheet.GetSpecId() != specID {
		return nil, fmt.Errorf("%w: sheet: got spec id %.80q, wanted %.80q", store.ErrCorrupt, sheet.GetSpecId(), specID)
	}
	return sheet, nil
}

// WithSheet returns p with the sheet that is stored for it, see [DecodeSheet].
// When the sheet's head does not agree with p the error wraps
// [store.ErrCorrupt].
func WithSheet(p store.PublishedSpec, b, digest []byte) (store.PublishedSpec, error) {
	sheet, err := DecodeSheet(b, digest, p.SpecID)
	if err != nil {
		return store.PublishedSpec{}, fmt.Errorf("%s: %w", p.Name(), err)
	}
	effective := sheet.GetEffectiveTime().AsTime().UnixMicro()
	if int(sheet.GetRevision()) != p.Revision || effective != p.EffectiveTime.UnixMicro() {
		return store.PublishedSpec{}, fmt.Errorf("%s: %w: sheet: got revision %d from %v, wanted %d from %v", p.Name(),
			store.ErrCorrupt, sheet.GetRevision(), Time(effective), p.Revision, p.EffectiveTime)
	}
	p.Sheet = sheet
	return p, nil
}
