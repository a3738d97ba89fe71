package server

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// composition finds the fields of a sheet that was derived in the file that it
// was derived by.
type composition struct {
	derived *pb.DerivedSheet
	// The identifiers of the lists on the whole sheet, in its order.
	characteristics, rules []string
}

// newComposition works out in what order things stand on the sheet: those of the
// base that are not taken away, then those that are added.
func newComposition(base *pb.SpecSheet, derived *pb.DerivedSheet) *composition {
	amendment := derived.GetAmendment()
	return &composition{
		derived:         derived,
		characteristics: listed(base.GetCharacteristics(), amendment.GetRemove(), amendment.GetAdd()),
		rules:           listed(base.GetRules(), amendment.GetRemoveRules(), amendment.GetAddRules()),
	}
}

func listed[T interface{ GetId() string }](base []T, removed []string, added []T) []string {
	var ids []string
	for _, item := range base {
		if !slices.Contains(removed, item.GetId()) {
			ids = append(ids, item.GetId())
		}
	}
	for _, item := range added {
		ids = append(ids, item.GetId())
	}
	return ids
}

// place turns a path on the sheet, or one that is of the file already, into one
// of the file: derived.amendment.override[2].limits. found is false for what is
// written in the base; the path is then "derived".
func (c *composition) place(path string) (inFile string, found bool) {
	const file, head, amendment = "derived", "derived.head.", "derived.amendment."
	if path == file || strings.HasPrefix(path, file+".") {
		return path, true
	}
	name, index, rest := cutIndex(path)
	if m := c.derived.GetHead().ProtoReflect(); m.IsValid() && name != "" {
		if field := m.Descriptor().Fields().ByName(protoreflect.Name(name)); field != nil && m.Has(field) {
			return head + path, true
		}
	}
	changes := c.derived.GetAmendment()
	switch {
	case name == "characteristics" && index >= 0 && index < len(c.characteristics):
		id := c.characteristics[index]
		if i := withID(changes.GetAdd(), id); i >= 0 {
			return fmt.Sprintf("%sadd[%d]%s", amendment, i, rest), true
		}
		i := withID(changes.GetOverride(), id)
		if i < 0 {
			break
		}
		at := fmt.Sprintf("%soverride[%d]", amendment, i)
		field, _, _ := strings.Cut(strings.TrimPrefix(rest, "."), ".")
		field, _, _ = cutIndex(field)
		if field == "" || sets(changes.GetOverride()[i], field) {
			return at + rest, true
		}
		return at, true // what it does not say is wrong together with what it says
	case name == "rules" && index >= 0 && index < len(c.rules):
		if i := withID(changes.GetAddRules(), c.rules[index]); i >= 0 {
			return fmt.Sprintf("%sadd_rules[%d]%s", amendment, i, rest), true
		}
	}
	return file, false
}

func withID[T interface{ GetId() string }](list []T, id string) int {
	return slices.IndexFunc(list, func(item T) bool { return item.GetId() == id })
}

// sets says whether a message has a field of that name set.
func sets(m proto.Message, name string) bool {
	field := m.ProtoReflect().Descriptor().Fields().ByName(protoreflect.Name(name))
	return field != nil && m.ProtoReflect().Has(field)
}

// cutIndex takes the first element off a path: characteristics[12].limits is
// characteristics, 12 and .limits. Without an index, it is -1.
func cutIndex(path string) (name string, index int, rest string) {
	end := strings.IndexAny(path, ".[")
	if end < 0 {
		return path, -1, ""
	}
	name, rest = path[:end], path[end:]
	if inner, after, ok := strings.Cut(rest, "]"); ok && rest[0] == '[' {
		if i, err := strconv.Atoi(inner[1:]); err == nil {
			return name, i, after
		}
	}
	return name, -1, rest
}
