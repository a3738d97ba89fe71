package audit

import (
	"crypto/sha256"
	"errors"
	"fmt"

	"github.com/fxamacker/cbor/v2"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// ErrDamaged says that the bytes of a checkpoint are not what [Auditor.Save] gave.
var ErrDamaged = errors.New("the checkpoint is damaged")

// VersionError says that a checkpoint was made by an audit or an engine of another
// version, so that going on would mix two meanings.
type VersionError struct {
	// What is "audit" or "engine".
	What string
	// Got is the checkpoint's version, Want the one here.
	Got, Want string
}

func (e *VersionError) Error() string {
	return fmt.Sprintf("the checkpoint is of %s version %q, here is %q: begin the audit again", e.What, e.Got, e.Want)
}

// saved is what a checkpoint holds, after a digest of its bytes. It is CBOR (RFC
// 8949) in its deterministic form.
type saved struct {
	Audit   string `cbor:"1,keyasint"`
	Engine  string `cbor:"2,keyasint"`
	Options []byte `cbor:"3,keyasint"` // pb.AuditOptions
	Cursor  string `cbor:"4,keyasint,omitempty"`
	Ledger  ledger `cbor:"5,keyasint"`
}

// head is the part of saved that is read before the rest: another version may have
// another form.
type head struct {
	Audit  string `cbor:"1,keyasint"`
	Engine string `cbor:"2,keyasint"`
}

var (
	encoding = must(cbor.EncOptions{
		Sort: cbor.SortCoreDeterministic, NaNConvert: cbor.NaNConvert7e00, InfConvert: cbor.InfConvertNone,
	}.EncMode())
	decoding = must(cbor.DecOptions{
		MaxNestedLevels: 16, MaxArrayElements: 1 << 20, MaxMapPairs: 1 << 17,
		DupMapKey: cbor.DupMapKeyEnforcedAPF, IndefLength: cbor.IndefLengthForbidden, TagsMd: cbor.TagsForbidden,
	}.DecMode())
)

func must[T any](mode T, err error) T {
	if err != nil {
		panic(err) // constant options
	}
	return mode
}

// Save gives what [Restore] needs to go on from here. The cursor is the caller's
// own: where it is in what it reads.
func (a *Auditor) Save(cursor string) ([]byte, error) {
	options, err := proto.MarshalOptions{Deterministic: true}.Marshal(a.options)
	if err != nil {
		return nil, fmt.Errorf("options: %w", err)
	}
	payload, err := encoding.Marshal(saved{Version, a.engine, options, cursor, a.ledger})
	if err != nil {
		return nil, fmt.Errorf("ledger: %w", err)
	}
	digest := sha256.Sum256(payload)
	return append(digest[:], payload...), nil
}

// Restore makes the auditor that was saved, and gives the cursor it was saved
// with. The error is [ErrDamaged] or a *[VersionError]. Whatever the bytes are, it
// needs no more memory than an audit may.
func Restore(checkpoint []byte, engine string) (a *Auditor, cursor string, err error) {
	if len(checkpoint) < sha256.Size {
		return nil, "", ErrDamaged
	}
	payload := checkpoint[sha256.Size:]
	if sha256.Sum256(payload) != [sha256.Size]byte(checkpoint[:sha256.Size]) {
		return nil, "", ErrDamaged
	}
	var first head
	if decoding.Unmarshal(payload, &first) != nil {
		return nil, "", ErrDamaged
	}
	switch {
	case first.Audit != Version:
		return nil, "", &VersionError{"audit", first.Audit, Version}
	case first.Engine != engine:
		return nil, "", &VersionError{"engine", first.Engine, engine}
	}
	var s saved
	options := new(pb.AuditOptions)
	if decoding.Unmarshal(payload, &s) != nil || proto.Unmarshal(s.Options, options) != nil {
		return nil, "", ErrDamaged
	}
	a = New(options, engine)
	empty := a.ledger
	a.ledger = s.Ledger
	orEmpty(&a.Reasons, empty.Reasons)
	orEmpty(&a.ByPhase, empty.ByPhase)
	orEmpty(&a.ByMonth, empty.ByMonth)
	orEmpty(&a.Rings, empty.Rings)
	orEmpty(&a.Shown, empty.Shown)
	if !a.index() {
		return nil, "", ErrDamaged
	}
	return a, s.Cursor, nil
}

func orEmpty[K comparable, V any](m *map[K]V, empty map[K]V) {
	if *m == nil {
		*m = empty
	}
}

// index makes the look-ups of a ledger that was read, and reports whether the
// ledger is one that an audit could have left: nothing in it leads outside it or
// is larger than it may be. A digest shows no more than that it was not damaged on
// the way.
func (a *Auditor) index() bool {
	people, shops := a.People.size(), a.Shops.size()
	ok := a.Records >= 0 && a.Errors >= 0 && a.Errors <= a.Records &&
		a.Shops.restore(mostShops) && a.People.restore(mostTechnicians) && a.Revised.restore(mostRevisions) &&
		len(a.ByShop) <= shops && len(a.ByHand) <= people && len(a.ByRev) <= a.Revised.size() &&
		len(a.Works) <= people && len(a.Models) <= a.Revised.size() && len(a.Reasons) <= mostReasons &&
		len(a.Chars) <= mostCharacteristics && len(a.Kinds) <= mostKinds &&
		a.VINs.sound(mostVINBuckets, a.Records, people) && a.Repeats.sound(mostRepeatBuckets, a.Records, people) &&
		a.Places.sound(mostPlaceBuckets, a.Records, people) &&
		within(a.Works, shops) && keysWithin(a.Rings, people) && keysWithin(a.Shown, people) &&
		len(a.ByMonth) <= mostMonths && noNil(a.ByMonth) && noNil(a.ByPhase) && noNil(a.Rings)
	if !ok {
		return false
	}
	for _, r := range a.Rings {
		if len(r.Signatures) > ringSize || len(r.Records) != len(r.Signatures) || len(r.Units) != len(r.Signatures) {
			return false
		}
		for _, s := range r.Signatures {
			if len(s) > mostSignature {
				return false
			}
		}
	}
	for _, shown := range a.Shown {
		if len(shown) != recordSigns {
			return false
		}
	}
	for i := range a.Kinds {
		k := &a.Kinds[i]
		a.kinds[kindKey{k.Code, k.ID}] = int32(i)
	}
	for i, c := range a.Chars {
		if c == nil || !a.indexCharacteristic(c) {
			return false
		}
		a.chars[charKey{c.Spec, c.ID}] = int32(i)
	}
	return len(a.chars) == len(a.Chars) && len(a.kinds) == len(a.Kinds) &&
		max(a.cells.months, a.cells.revisions, a.cells.shops, a.cells.hands, a.cells.limits) <= mostCells
}

// mostReasons bounds the reasons of errors, which are the service's own.
const mostReasons = 256

func (a *Auditor) indexCharacteristic(c *characteristic) bool {
	if !noNil(c.Months) || !noNil(c.Revisions) || !noNil(c.Shops) ||
		!keysWithin(c.Revisions, a.Revised.size()) || !keysWithin(c.Shops, a.Shops.size()) {
		return false
	}
	a.cells.months += len(c.Months)
	a.cells.revisions += len(c.Revisions)
	a.cells.shops += len(c.Shops)
	a.cells.limits += len(c.Limits)
	for _, l := range c.Limits {
		if l == nil || l.Revision < 0 || int(l.Revision) >= a.Revised.size() || !l.Left.sound() || !l.Found.sound() {
			return false
		}
	}
	for _, s := range c.Strata {
		if s == nil || !(s.Step > 0) || !noNil(s.Hands) || !keysWithin(s.Hands, a.People.size()) {
			return false
		}
		a.cells.hands += len(s.Hands)
	}
	return true
}

func (v *values) sound() bool { return v.Cells == nil || len(v.Cells) == histogramCells }

func within(places []int32, size int) bool {
	for _, p := range places {
		if p < 0 || int(p) >= size {
			return false
		}
	}
	return true
}

func keysWithin[V any](m map[int32]V, size int) bool {
	for k := range m {
		if k < 0 || int(k) >= size {
			return false
		}
	}
	return true
}

func noNil[V any](m map[int32]*V) bool {
	for _, v := range m {
		if v == nil {
			return false
		}
	}
	return true
}
