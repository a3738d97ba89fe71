package layout

import (
	"slices"
	"strings"
	"testing"
)

func TestClean(t *testing.T) {
	for got, want := range map[string]string{
		Clean("a\x1b[31mb\x07\tc\r\n d"): "a[31mb c d",
		Clean("evil\u202etxt"):           "eviltxt",
		Clean("20 N·m ¼"):                "20 N·m ¼",
		Clean("  "):                      "",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestWidth(t *testing.T) {
	for s, want := range map[string]int{
		"":                             0,
		"N·m":                          3,
		"e\u0301":                      1, // with a combining accent
		"発動機":                          6,
		Ink(true).Write(Red, "REJECT"): 6,
	} {
		if got := Width(s); got != want {
			t.Errorf("%q: got %d, want %d", s, got, want)
		}
	}
}

func TestWrap(t *testing.T) {
	for _, test := range []struct {
		s     string
		cells int
		want  []string
	}{
		{"", 10, []string{""}},
		{"one two", 10, []string{"one two"}},
		{"drain some 310 mL now", 14, []string{"drain some", "310 mL now"}}, // number and unit stay together
		{"turn in 1¼ turns", 12, []string{"turn in", "1¼ turns"}},
		{"abcdefghij", 4, []string{"abcd", "efgh", "ij"}},
		{"a bcdefgh", 4, []string{"a", "bcde", "fgh"}},
		{"発動機", 4, []string{"発動", "機"}},
		{"a", 0, []string{"a"}},
	} {
		if got := Wrap(test.s, test.cells); !slices.Equal(got, test.want) {
			t.Errorf("Wrap(%q, %d) = %q, want %q", test.s, test.cells, got, test.want)
		}
	}
}

func FuzzWrap(f *testing.F) {
	f.Add("Drain 310 mL, down to 1.25 L.", 12)
	f.Add("発動機\u0301 12 \x1b[1m", 1)
	f.Fuzz(func(t *testing.T, s string, cells int) {
		cells = min(max(cells, 2), 200)
		var got strings.Builder
		for _, line := range Wrap(s, cells) {
			if w := Width(line); w > cells {
				t.Errorf("line %q takes %d cells, want at most %d", line, w, cells)
			}
			got.WriteString(strings.ReplaceAll(line, " ", ""))
		}
		if want := strings.ReplaceAll(Clean(s), " ", ""); got.String() != want {
			t.Errorf("got %q, want all of %q", got.String(), want)
		}
	})
}

func TestShorten(t *testing.T) {
	for _, test := range []struct {
		s     string
		cells int
		want  string
	}{
		{"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"a bcd", 3, "a…"}, {"abc", 1, "…"}, {"abc", 0, ""}, {"abc", -1, ""}, {"発動機", 4, "発…"},
	} {
		if got := Shorten(test.s, test.cells); got != test.want {
			t.Errorf("Shorten(%q, %d) = %q, want %q", test.s, test.cells, got, test.want)
		}
	}
}

func TestNoteStylesItsLabelOnly(t *testing.T) {
	p := &Page{Width: 20, Ink: true}
	p.Note(2, "do:", Bold, "drain it, then fill it again")
	want := "  \x1b[1mdo:\x1b[0m drain it, then\n      fill it again\n"
	if p.String() != want {
		t.Errorf("got %q, want %q", p.String(), want)
	}
}

func TestTableFits(t *testing.T) {
	table := Table{
		Columns: []Column{{Title: "NAME"}, {Title: "A", Drop: 1, Right: true}, {Title: "B", Drop: 2}, {Title: "LAST"}},
		Rows:    [][]string{{"a long name", "12", "second to go", "x"}, {"b", "1", "", ""}},
	}
	for width, want := range map[int]string{
		80: "NAME          A  B             LAST\na long name  12  second to go  x\nb             1\n",
		25: "NAME          A  LAST\na long name  12  x\nb             1\n",
		20: "NAME         LAST\na long name  x\nb\n",
		15: "NAME       LAST\na long n…  x\nb\n",
	} {
		var b strings.Builder
		if err := table.Write(&b, width, false); err != nil {
			t.Fatal(err)
		}
		if b.String() != want {
			t.Errorf("width %d:\n%s\nwant:\n%s", width, b.String(), want)
		}
	}
}

func TestTablePutsANameBelow(t *testing.T) {
	table := Table{
		Columns: []Column{{Title: "ID", Below: true}, {Title: "VIN", Whole: true}, {Title: "SHOP"}, {Title: "MODEL", Drop: 1}, {Title: "DAY", Drop: 2}},
		Rows:    [][]string{{"an-identifier", "0123456789ABCDEFG", "ridge-cycles", "Causeway", "Monday"}, {"b", "1", "", "", ""}},
	}
	for width, want := range map[int]string{
		80: "ID             VIN                SHOP          MODEL     DAY\nan-identifier  0123456789ABCDEFG  ridge-cycles  Causeway  Monday\nb              1\n",
		60: "ID             VIN                SHOP          MODEL\nan-identifier  0123456789ABCDEFG  ridge-cycles  Causeway\nb              1\n",
		45: "VIN                SHOP          MODEL\n0123456789ABCDEFG  ridge-cycles  Causeway\n  an-identifier\n1\n  b\n",
		28: "VIN                SHOP\n0123456789ABCDEFG  ridge-cy…\n  an-identifier\n1\n  b\n",
		20: "VIN\n0123456789ABCDEFG\n  an-identifier\n1\n  b\n",
		10: "VIN\n0123456789ABCDEFG\n  an-identifier\n1\n  b\n",
	} {
		var b strings.Builder
		if err := table.Write(&b, width, false); err != nil {
			t.Fatal(err)
		}
		if b.String() != want {
			t.Errorf("width %d:\n%s\nwant:\n%s", width, b.String(), want)
		}
	}
}
