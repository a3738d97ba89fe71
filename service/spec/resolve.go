package spec

import (
	"fmt"
	"slices"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Resolved is what is specified for one machine: a sheet with the amendments of
// its fitted options and of its bulletins applied. It is immutable, shared and
// safe for concurrent use; its messages must not be modified.
type Resolved struct {
	// Characteristics in the order of the job: that of the sheet, additions
	// last, except that each comes after its prerequisites. Prerequisites name
	// only characteristics that are here, and so does what an adjuster moves:
	// references to what was taken away are taken away with it.
	Characteristics []*pb.Characteristic
	// Rules in sheet order, additions last. A rule may still speak of a
	// characteristic in Removed, or of one that only another option adds.
	Rules []*pb.Rule
	// Removed tells which option or bulletin took a characteristic away.
	Removed map[string]string
	// Options holds those asked for that the sheet knows, in sheet order.
	Options []string
	// Unknown holds those that it does not know, sorted.
	Unknown []string
	// Conflicts holds the pairs that exclude each other, in sheet order.
	Conflicts []Conflict
	// Unmet holds the requirements that are not met, in sheet order.
	Unmet []Requirement
}

// Conflict is a pair of options that exclude each other, whichever of the two
// says so. Option comes first on the sheet.
type Conflict struct {
	Option, Excludes string
}

// Requirement is an option that another one needs.
type Requirement struct {
	Option, Requires string
}

// Resolve applies the amendments of the options fitted and of the bulletins in
// force. Neither the order of the arguments nor repetitions matter: options are
// applied in sheet order, then bulletins in sheet order.
//
// Wrong sets of options are no errors: what is wrong with them is told in the
// result, and whatever of their amendments makes sense is applied, so that a
// record can still be judged. A bulletin passes by a characteristic that this
// machine does not have, for want of an option or because an option took it
// away.
//
// It returns a *[NotFoundError] for a bulletin that the sheet does not have.
// Any other error is a *[SheetError]. It cannot happen to a sheet that passed
// [Lint]: whether an amendment finds what it changes depends on the last other
// amendment to add or remove it, so Lint need only try the options in pairs.
func (r *Revision) Resolve(options, bulletins []string) (*Resolved, error) {
	resolved := &Resolved{}
	chosen := make([]bool, len(r.sheet.GetOptions()))
	for _, id := range options {
		if i, ok := r.optionPlace[id]; ok {
			chosen[i] = true
		} else {
			resolved.Unknown = append(resolved.Unknown, id)
		}
	}
	slices.Sort(resolved.Unknown)
	resolved.Unknown = slices.Compact(resolved.Unknown)

	inForce := make([]bool, len(r.sheet.GetBulletins()))
	for _, id := range bulletins {
		i, ok := r.bulletinPlace[id]
		if !ok {
			return nil, &NotFoundError{What: fmt.Sprintf("bulletin %q on %s", id, r.Name())}
		}
		inForce[i] = true
	}

	var fitted []*pb.Option
	for i, option := range r.sheet.GetOptions() {
		if chosen[i] {
			fitted = append(fitted, option)
			resolved.Options = append(resolved.Options, option.GetId())
		}
	}
	resolved.Conflicts, resolved.Unmet = disagreements(fitted)

	c := r.base.clone()
	how := strict
	if len(resolved.Conflicts)+len(resolved.Unmet) > 0 {
		how = lax
	}
	var problems []Problem
	for _, option := range fitted {
		problems = append(problems, c.apply(option.GetId(), option.GetAmendment(), how)...)
	}
	for i, bulletin := range r.sheet.GetBulletins() {
		if inForce[i] {
			c.apply(bulletin.GetId(), bulletin.GetAmendment(), lax)
		}
	}
	if len(problems) > 0 {
		return nil, &SheetError{Problems: problems}
	}
	characteristics, rules := c.left()
	dropDangling(characteristics, c)
	resolved.Characteristics, _ = inJobOrder(characteristics)
	resolved.Rules = rules
	resolved.Removed = c.removed
	return resolved, nil
}

// disagreements tells what a set of options says against itself. The options
// are in sheet order.
func disagreements(fitted []*pb.Option) (conflicts []Conflict, unmet []Requirement) {
	there := make(map[string]bool, len(fitted))
	for _, option := range fitted {
		there[option.GetId()] = true
	}
	for i, option := range fitted {
		for _, later := range fitted[i+1:] {
			if exclude(option, later) {
				conflicts = append(conflicts, Conflict{Option: option.GetId(), Excludes: later.GetId()})
			}
		}
		for _, required := range option.GetRequires() {
			if !there[required] {
				unmet = append(unmet, Requirement{Option: option.GetId(), Requires: required})
			}
		}
	}
	return conflicts, unmet
}

// exclude reports whether one of two options says that it excludes the other.
func exclude(a, b *pb.Option) bool {
	return slices.Contains(a.GetExcludes(), b.GetId()) || slices.Contains(b.GetExcludes(), a.GetId())
}

// dropDangling replaces, in the list, characteristics that refer to others that
// are not there by copies that do not.
func dropDangling(characteristics []*pb.Characteristic, there *content) {
	absent := func(id string) bool {
		_, ok := there.place[id]
		return !ok
	}
	for i, ch := range characteristics {
		moves := ch.GetAdjuster().GetMoves()
		movesNothing := moves != nil && absent(moves.GetCharacteristic())
		if !movesNothing && !slices.ContainsFunc(ch.GetPrerequisites(), absent) {
			continue
		}
		ch = proto.Clone(ch).(*pb.Characteristic)
		ch.Prerequisites = slices.DeleteFunc(ch.Prerequisites, absent)
		if movesNothing {
			ch.GetAdjuster().Moves = nil
		}
		characteristics[i] = ch
	}
}
