package audit

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"math"

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
		MaxNestedLevels: 16, MaxArrayElements: mostVINBuckets, MaxMapPairs: mostCells,
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
	checkpoint := bytes.NewBuffer(make([]byte, sha256.Size, max(sha256.Size, a.size)))
	if err := encoding.NewEncoder(checkpoint).Encode(saved{Version, a.engine, options, cursor, a.ledger}); err != nil {
		return nil, fmt.Errorf("ledger: %w", err)
	}
	data := checkpoint.Bytes()
	digest := sha256.Sum256(data[sha256.Size:])
	copy(data, digest[:])
	a.size = len(data) + len(data)/8
	return data, nil
}

// Restore makes the auditor that was saved, and gives the cursor it was saved
// with. The error is [ErrDamaged] or a *[VersionError]. Whatever the bytes are, it
// needs no more than a few times the memory that the largest audit does, and the
// auditor is one that an audit could have left, as far as counts and places go.
func Restore(checkpoint []byte, engine string) (a *Auditor, cursor string, err error) {
	if len(checkpoint) < sha256.Size || len(checkpoint) > MaxCheckpoint {
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
	if items(payload) > mostItems {
		return nil, "", ErrDamaged
	}
	var s saved
	options := new(pb.AuditOptions)
	if decoding.Unmarshal(payload, &s) != nil || len(s.Options) > mostOptions || proto.Unmarshal(s.Options, options) != nil {
		return nil, "", ErrDamaged
	}
	a = New(options, engine)
	empty := a.ledger
	a.ledger = s.Ledger
	orEmpty(&a.Reasons, empty.Reasons)
	orEmpty(&a.ByPhase, empty.ByPhase)
	orEmpty(&a.ByMonth, empty.ByMonth)
	orEmpty(&a.Duties, empty.Duties)
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

const (
	// mostItems bounds the data items of a checkpoint. The largest audit is below it;
	// an item of one byte may need 40 bytes of memory.
	mostItems = 16_000_000
	// mostOptions bounds the options in bytes.
	mostOptions = 4096
)

// items counts the data items of CBOR that is well formed and has no indefinite
// lengths. What is in an array or a map follows its head, so that nothing is nested
// here.
func items(payload []byte) (n int) {
	for at := 0; at < len(payload); n++ {
		major, info := payload[at]>>5, payload[at]&31
		at++
		length := uint64(info)
		if width := 0; info >= 24 {
			if width = 1 << (info - 24); info > 27 || width > len(payload)-at {
				return math.MaxInt
			}
			length = 0
			for _, b := range payload[at : at+width] {
				length = length<<8 | uint64(b)
			}
			at += width
		}
		if isText := major == 2 || major == 3; isText {
			if length > uint64(len(payload)-at) {
				return math.MaxInt
			}
			at += int(length)
		}
	}
	return n
}

// index makes the look-ups of a ledger that was read, and reports whether it is
// sound.
func (a *Auditor) index() bool {
	if !a.Shops.index() || !a.People.index() || !a.Revised.index() || !a.sound() {
		return false
	}
	for i := range a.Kinds {
		a.kinds[kindKey{a.Kinds[i].Code, a.Kinds[i].ID}] = int32(i)
	}
	for i, c := range a.Chars {
		a.chars[charKey{c.Spec, c.ID, c.Unit}] = int32(i)
		a.cells.months += len(c.Months)
		a.cells.revisions += len(c.Revisions)
		a.cells.shops += len(c.Shops)
		a.cells.limits += len(c.Limits)
		for _, s := range c.Strata {
			a.cells.hands += len(s.Hands)
		}
	}
	return len(a.chars) == len(a.Chars) && len(a.kinds) == len(a.Kinds) &&
		max(a.cells.months, a.cells.revisions, a.cells.shops) <= mostCells &&
		a.cells.hands <= mostHands && a.cells.limits <= mostLimits
}
