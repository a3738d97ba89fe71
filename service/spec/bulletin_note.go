package spec

import (
	"slices"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// BulletinNote says what a bulletin that is for some units only makes of a
// characteristic. Its messages are shared and must not be modified.
type BulletinNote struct {
	// Bulletin, as it stands on the sheet.
	Bulletin *pb.Bulletin
	// Effect is what it does.
	Effect pb.BulletinEffect
	// Characteristic as the bulletin makes it by itself: with the options, the
	// bulletins for every unit and this one applied, but none of the others for
	// some units, except the first that adds what this one changes. Nil where it
	// takes it away.
	Characteristic *pb.Characteristic
}

// Proto returns the note as the API shows it. The messages in it are shared.
func (n BulletinNote) Proto() *pb.BulletinNote {
	return &pb.BulletinNote{
		Bulletin:       n.Bulletin.GetId(),
		Title:          n.Bulletin.GetTitle(),
		SerialFrom:     n.Bulletin.GetVin().GetSerialFrom(),
		SerialTo:       n.Bulletin.GetVin().GetSerialTo(),
		EffectiveTime:  n.Bulletin.GetEffectiveTime(),
		Characteristic: n.Characteristic,
		Source:         n.Bulletin.GetSource(),
		Effect:         n.Effect,
		VinPatterns:    n.Bulletin.GetVin().GetPatterns(),
	}
}

// notes tells, by characteristic, what each bulletin in some does to the sheet
// as it is with options and bulletins applied, which is base; and returns the
// characteristics that base lacks and they add, each as the first adds it. Only
// what a bulletin itself adds, changes or takes away is noted: that another
// characteristic loses a prerequisite by it is not.
func (r *Revision) notes(base []*pb.Characteristic, options, bulletins, some []string) (map[string][]BulletinNote, []*pb.Characteristic, error) {
	notes := make(map[string][]BulletinNote)
	var added []*pb.Characteristic
	there := byIdentifier(base)
	for _, id := range some {
		bulletin := r.bulletin(id)
		with, err := r.with(options, bulletins, id)
		if err != nil {
			return nil, nil, err
		}
		for _, target := range amended(bulletin.GetAmendment()) {
			before, after := there[target], with[target]
			if before == nil && after == nil {
				if before, after, err = r.addedAndAmended(target, id, options, bulletins, some); err != nil {
					return nil, nil, err
				}
			}
			n := BulletinNote{Bulletin: bulletin, Characteristic: after}
			switch {
			case proto.Equal(before, after): // also where there is none
				continue
			case before == nil:
				n.Effect = pb.BulletinEffect_BULLETIN_EFFECT_ADDS
				if !slices.ContainsFunc(added, func(ch *pb.Characteristic) bool { return ch.GetId() == target }) {
					added = append(added, after)
				}
			case after == nil:
				n.Effect = pb.BulletinEffect_BULLETIN_EFFECT_REMOVES
			default:
				n.Effect = pb.BulletinEffect_BULLETIN_EFFECT_CHANGES
			}
			notes[target] = append(notes[target], n)
		}
	}
	return notes, added, nil
}

// addedAndAmended returns a characteristic as another of the bulletins in some
// adds it, and as the bulletin then makes it: by the first that adds it, on units
// that both can be for, and leaves the bulletin something to do. Both are nil
// where there is none.
func (r *Revision) addedAndAmended(target, bulletin string, options, bulletins, some []string) (before, after *pb.Characteristic, err error) {
	for _, other := range some {
		adds := func(ch *pb.Characteristic) bool { return ch.GetId() == target }
		if other == bulletin || !slices.ContainsFunc(r.bulletin(other).GetAmendment().GetAdd(), adds) ||
			!overlap(r.bulletin(other).GetVin(), r.bulletin(bulletin).GetVin()) {
			continue
		}
		without, err := r.with(options, bulletins, other)
		if err != nil {
			return nil, nil, err
		}
		with, err := r.with(options, bulletins, other, bulletin)
		if err != nil {
			return nil, nil, err
		}
		if !proto.Equal(without[target], with[target]) {
			return without[target], with[target], nil
		}
	}
	return nil, nil, nil
}

// overlap reports whether a unit may be covered by both of two coverages that
// passed [Lint].
func overlap(a, b *pb.VinCoverage) bool {
	below := func(from, to string) bool { return from == "" || to == "" || from <= to }
	if !below(a.GetSerialFrom(), b.GetSerialTo()) || !below(b.GetSerialFrom(), a.GetSerialTo()) {
		return false
	}
	return slices.ContainsFunc(a.GetPatterns(), func(p string) bool {
		return slices.ContainsFunc(b.GetPatterns(), func(q string) bool {
			for i := range min(len(p), len(q)) {
				if p[i] != q[i] && p[i] != '?' && q[i] != '?' {
					return false
				}
			}
			return true
		})
	})
}

// with returns, by identifier, the characteristics with options applied and two
// lists of bulletins.
func (r *Revision) with(options, bulletins []string, more ...string) (map[string]*pb.Characteristic, error) {
	resolved, err := r.Resolve(options, slices.Concat(bulletins, more))
	if err != nil {
		return nil, err
	}
	return byIdentifier(resolved.Characteristics), nil
}

// bulletin returns one that the sheet has.
func (r *Revision) bulletin(id string) *pb.Bulletin {
	return r.sheet.GetBulletins()[r.bulletinPlace[id]]
}

// amended returns the characteristics that an amendment names, each once.
func amended(a *pb.Amendment) []string {
	ids := slices.Clone(a.GetRemove())
	for _, list := range [][]*pb.Characteristic{a.GetOverride(), a.GetAdd()} {
		for _, ch := range list {
			if !slices.Contains(ids, ch.GetId()) {
				ids = append(ids, ch.GetId())
			}
		}
	}
	return ids
}

func byIdentifier(list []*pb.Characteristic) map[string]*pb.Characteristic {
	result := make(map[string]*pb.Characteristic, len(list))
	for _, ch := range list {
		result[ch.GetId()] = ch
	}
	return result
}
