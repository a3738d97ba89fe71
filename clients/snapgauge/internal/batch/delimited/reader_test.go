package delimited

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
)

// all reads a text to its end and says what came: cells between bars, the line
// before; faults as they are.
func all(t testing.TB, in io.Reader, separator byte) []string {
	t.Helper()
	r := NewReader(bufio.NewReaderSize(in, 4096), separator)
	var result []string
	for {
		cells, line, err := r.Read()
		var bad *RowError
		switch {
		case errors.Is(err, io.EOF):
			return result
		case errors.As(err, &bad):
			result = append(result, bad.Error())
			if bad.Line != line {
				t.Errorf("line %d, and %d in the error", line, bad.Line)
			}
		case err != nil:
			t.Fatal(err)
		default:
			result = append(result, fmt.Sprintf("%d:%s", line, strings.Join(cells, "|")))
		}
	}
}

// The examples of RFC 4180, section 2, by the number of the rule.
func TestExamplesOfRFC4180(t *testing.T) {
	for _, test := range []struct {
		rule, text string
		want       []string
	}{
		{"1", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", []string{"1:aaa|bbb|ccc", "2:zzz|yyy|xxx"}},
		{"2", "aaa,bbb,ccc\r\nzzz,yyy,xxx", []string{"1:aaa|bbb|ccc", "2:zzz|yyy|xxx"}},
		{"3", "field_name,field_name,field_name\r\naaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
			[]string{"1:field_name|field_name|field_name", "2:aaa|bbb|ccc", "3:zzz|yyy|xxx"}},
		{"4", "aaa,bbb,ccc", []string{"1:aaa|bbb|ccc"}},
		{"5", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", []string{"1:aaa|bbb|ccc", "2:zzz|yyy|xxx"}},
		{"6", "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", []string{"1:aaa|b\r\nbb|ccc", "3:zzz|yyy|xxx"}},
		{"7", `"aaa","b""bb","ccc"`, []string{`1:aaa|b"bb|ccc`}},
	} {
		if got := all(t, strings.NewReader(test.text), ','); !slices.Equal(got, test.want) {
			t.Errorf("rule %s: got %q, want %q", test.rule, got, test.want)
		}
	}
}

func TestRows(t *testing.T) {
	long := strings.Repeat("x", MostBytes+10)
	unclosed := "a,\"b\n" + strings.Repeat("c,d\n", MostBytes/4+10)
	for _, test := range []struct {
		name, text string
		separator  byte
		want       []string
	}{
		{"blank lines", "\n\na,b\n\r\nc,d\n\n", ',', []string{"3:a|b", "5:c|d"}},
		{"empty cells", ",\n\"\",\n", ',', []string{"1:|", "2:|"}},
		{"semicolons", "a;\"b;c\";d,e\n", ';', []string{"1:a|b;c|d,e"}},
		{"tabs", "a\tb\n", '\t', []string{"1:a|b"}},
		{"no end", `a,"b"`, ',', []string{"1:a|b"}},
		{"text after a quotation mark", "a,\"b\"c\nd,e\n", ',', []string{"line 1, cell 2: text stands after the quotation mark that closes a cell", "2:d|e"}},
		{"a quotation mark within", "a,5\" disc\nd,e\n", ',', []string{"line 1, cell 2: a quotation mark stands within a cell that is not in quotes", "2:d|e"}},
		{"unclosed at the end", "a,b\nc,\"d\ne,f\ng,h", ',', []string{"1:a|b", "line 2, cell 2: a quotation mark is not closed", "3:e|f", "4:g|h"}},
		{"unclosed, then another", "a,\"b\nc,\"d\"\ne,f\n", ',', []string{"line 1, cell 2: text stands after the quotation mark that closes a cell", "2:c|d", "3:e|f"}},
		{"only quotation marks", "\"\"\"\"\n\"\n", ',', []string{`1:"`, "line 2, cell 1: a quotation mark is not closed"}},
		{"a long line", "a,b\n" + long + "\nc,d\n", ',', []string{"1:a|b", "line 2: the row is longer than 1 MiB", "3:c|d"}},
		{"a long last line", "a,b\n" + long, ',', []string{"1:a|b", "line 2: the row is longer than 1 MiB"}},
		{"a long line in quotes", "a,\"b\n" + long + "\nc,d\n", ',', []string{"line 1, cell 2: a quotation mark is not closed", "line 2: the row is longer than 1 MiB", "3:c|d"}},
		{"many cells", strings.Repeat(",", MostCells) + "\nc,d\n", ',', []string{"line 1: the row has more than 16384 cells", "2:c|d"}},
		{"many cells in quotes", `""` + strings.Repeat(`,""`, MostCells) + "\nc,d\n", ',', []string{"line 1: the row has more than 16384 cells", "2:c|d"}},
		{"a million cells", strings.Repeat(",", 1_000_000) + "\nc,d\n", ',', []string{"line 1: the row has more than 16384 cells", "2:c|d"}},
	} {
		if got := all(t, strings.NewReader(test.text), test.separator); !slices.Equal(got, test.want) {
			t.Errorf("%s: got %.300q, want %q", test.name, got, test.want)
		}
	}
	got := all(t, strings.NewReader(unclosed), ',')
	if want := MostBytes/4 + 11; len(got) != want || !strings.HasSuffix(got[0], "not closed") || got[len(got)-1] != fmt.Sprintf("%d:c|d", want) {
		t.Errorf("got %d rows, first %q, last %q", len(got), got[0], got[len(got)-1])
	}
}

// broken is a text that cannot be read on.
type broken struct{ text io.Reader }

var errBroken = errors.New("broken")

func (b broken) Read(p []byte) (int, error) {
	n, err := b.text.Read(p)
	if errors.Is(err, io.EOF) {
		err = errBroken
	}
	return n, err
}

func TestATextThatCannotBeReadOn(t *testing.T) {
	r := NewReader(bufio.NewReader(broken{strings.NewReader("a,b\nc,\"d\ne")}), ',')
	var got []string
	for range 6 {
		cells, _, err := r.Read()
		got = append(got, fmt.Sprint(cells, err))
	}
	if want := "[a b] <nil>"; got[0] != want {
		t.Errorf("got %s, want %s", got[0], want)
	}
	if got[5] != "[] broken" {
		t.Errorf("got %q", got)
	}
}

// What the library's strict reader takes is read as the same cells. It drops a CR
// before a line break within quotes, and takes bare line breaks for blank lines.
func FuzzReader(f *testing.F) {
	f.Add("aaa,\"b\r\nbb\",ccc\r\nzzz,yyy,xxx", byte(0))
	f.Add("a;\"b\"\"c\"\n\n;;\n\"", byte(1))
	f.Add("\"a\nb\"c\n\"d\"\te", byte(2))
	f.Fuzz(func(t *testing.T, text string, which byte) {
		separator := Separators[int(which)%len(Separators)]
		r := NewReader(bufio.NewReaderSize(strings.NewReader(text), 16), separator)
		var got [][]string
		faults, last := 0, int64(0)
		for {
			cells, line, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			if line <= last {
				t.Fatalf("line %d after %d", line, last)
			}
			if last = line; err != nil {
				faults++
			} else {
				got = append(got, slices.Clone(cells))
			}
		}
		if lines := int64(strings.Count(text, "\n") + 1); last > lines {
			t.Errorf("got line %d of %d", last, lines)
		}
		library := csv.NewReader(strings.NewReader(text))
		library.Comma, library.FieldsPerRecord = rune(separator), -1
		want, err := library.ReadAll()
		if err != nil || strings.Contains(text, "\r") {
			return
		}
		if faults > 0 || !slices.EqualFunc(got, want, slices.Equal) {
			t.Errorf("%q: %d faults, got %q, want %q", text, faults, got, want)
		}
	})
}
