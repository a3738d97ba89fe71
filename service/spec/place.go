package spec

import (
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// place finds where a field of the sheet is written: in the file of s, or in
// that of a sheet that it builds on.
func (s *source) place(path string) (file string, line, column int) {
	if found, line, column, _ := s.seek(path); found != "" {
		return found, line, column
	}
	line, column, _ = s.lines.Line("")
	return s.name, line, column
}

// seek is [source.place], exact only when that very field was found.
func (s *source) seek(path string) (file string, line, column int, exact bool) {
	derived := s.file.GetDerived()
	if derived == nil {
		line, column, exact = s.lines.Line(joinPath("sheet", path))
		return s.name, line, column, exact
	}
	name, index, rest := splitPath(path)
	if head := derived.GetHead().ProtoReflect(); head.IsValid() {
		if field := head.Descriptor().Fields().ByName(protoreflect.Name(name)); field != nil && head.Has(field) {
			line, column, exact = s.lines.Line("derived.head." + path)
			return s.name, line, column, exact
		}
	}
	if index < 0 || name != "characteristics" && name != "rules" {
		return s.base.orHere(s, path)
	}
	id, inBase := s.identify(name, index)
	amendment := "derived.amendment."
	for i, ch := range derived.GetAmendment().GetAdd() {
		if name == "characteristics" && ch.GetId() == id {
			line, column, exact = s.lines.Line(fmt.Sprintf("%sadd[%d]%s", amendment, i, rest))
			return s.name, line, column, exact
		}
	}
	for i, rule := range derived.GetAmendment().GetAddRules() {
		if name == "rules" && rule.GetId() == id {
			line, column, exact = s.lines.Line(fmt.Sprintf("%sadd_rules[%d]%s", amendment, i, rest))
			return s.name, line, column, exact
		}
	}
	for i, ch := range derived.GetAmendment().GetOverride() {
		if name != "characteristics" || ch.GetId() != id {
			continue
		}
		// What the override does not write is written in the base.
		at := fmt.Sprintf("%soverride[%d]", amendment, i)
		first, _, _ := strings.Cut(strings.TrimPrefix(rest, "."), ".")
		if _, _, own := s.lines.Line(joinPath(at, first)); own || inBase < 0 {
			line, column, exact = s.lines.Line(at + rest)
			return s.name, line, column, exact
		}
		if file, line, column, exact = s.base.seek(fmt.Sprintf("%s[%d]%s", name, inBase, rest)); exact {
			return file, line, column, exact
		}
		line, column, _ = s.lines.Line(at)
		return s.name, line, column, false
	}
	if inBase < 0 {
		return "", 0, 0, false
	}
	return s.base.orHere(s, fmt.Sprintf("%s[%d]%s", name, inBase, rest))
}

// orHere looks in the base, and if the field is written nowhere gives the head
// of the file that lacks it.
func (s *source) orHere(here *source, path string) (file string, line, column int, exact bool) {
	if file, line, column, exact = s.seek(path); exact {
		return file, line, column, exact
	}
	if name, index, _ := splitPath(path); index < 0 && name != "" && !strings.Contains(path, ".") {
		line, column, _ = here.lines.Line("derived.head")
		return here.name, line, column, false
	}
	return file, line, column, false
}

// identify returns the identifier of the characteristic or rule at an index of
// the sheet, and its index in the base, or -1.
func (s *source) identify(name string, index int) (id string, inBase int) {
	ids := func(sheet *pb.SpecSheet) []string {
		var all []string
		if name == "rules" {
			for _, rule := range sheet.GetRules() {
				all = append(all, rule.GetId())
			}
			return all
		}
		for _, ch := range sheet.GetCharacteristics() {
			all = append(all, ch.GetId())
		}
		return all
	}
	inBase = -1
	if all := ids(s.sheet); index < len(all) {
		id = all[index]
	}
	for i, other := range ids(s.base.sheet) {
		if other == id {
			inBase = i
			break
		}
	}
	return id, inBase
}

// splitPath takes the first element off a path: characteristics[12].limits is
// characteristics, 12 and .limits. Without an index, it is -1.
func splitPath(path string) (name string, index int, rest string) {
	end := strings.IndexAny(path, ".[")
	if end < 0 {
		return path, -1, ""
	}
	name, rest = path[:end], path[end:]
	index = -1
	if inner, after, ok := strings.Cut(rest, "]"); ok && rest[0] == '[' {
		if i, err := strconv.Atoi(inner[1:]); err == nil {
			index, rest = i, after
		}
	}
	return name, index, rest
}
