package statistic

import (
	"cmp"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// PublishedCheck is one comparison of a function with a figure that somebody
// else published, or with a closed form. It becomes one row of
// testdata/published.md.
type PublishedCheck struct {
	Function  string  // as a caller writes it: "Anova" or "Moments.Add"
	Case      string  // what was computed, in words; with Function it is unique
	Source    string  // publication, or "closed form"
	Where     string  // clause, table or page in the source; may be empty
	Want      float64 // the published figure
	Got       float64 // what the function returned
	Tolerance float64 // allowed |Got-Want|, from the digits that the source prints or that the data hold
	// FromMemory marks a figure recalled without the source at hand.
	FromMemory bool
}

// toDigits is the tolerance that asks for agreement in so many digits of want:
// a log relative error of at least that.
func toDigits(want, digits float64) float64 { return math.Abs(want) * math.Pow(10, -digits) }

// digits returns the log relative error of got, the number of digits in which it
// agrees with want: at most 15, the most that the certified values have.
func digits(got, want float64) float64 {
	off := math.Abs(got - want)
	if got == want { // infinities too
		return 15
	}
	if want != 0 {
		off /= math.Abs(want)
	}
	return min(15, max(0, -math.Log10(off)))
}

const publishedTable = "testdata/published.md"

var published struct {
	sync.Mutex
	rows map[string]PublishedCheck // by Function and Case
}

// check fails the test when the function disagrees with the published figure,
// and registers the row for the generated table. It may be used from parallel
// tests.
func check(t testing.TB, c PublishedCheck) {
	t.Helper()
	if c.Function == "" || c.Case == "" || c.Source == "" {
		t.Errorf("published check needs Function, Case and Source: %+v", c)
		return
	}
	t.Logf("%s, %s: %.1f digits", c.Function, c.Case, digits(c.Got, c.Want))
	// Written this way round, NaN fails.
	if !(math.Abs(c.Got-c.Want) <= c.Tolerance) && c.Got != c.Want {
		t.Errorf("%s, %s: got %.17g, want %.17g ± %.3g (%s %s)", c.Function, c.Case, c.Got, c.Want, c.Tolerance, c.Source, c.Where)
	}
	published.Lock()
	defer published.Unlock()
	if published.rows == nil {
		published.rows = make(map[string]PublishedCheck)
	}
	key := c.Function + "\x00" + c.Case
	if old, ok := published.rows[key]; ok && old.Want != c.Want {
		t.Errorf("%s, %s: registered twice with different figures (%g and %g)", c.Function, c.Case, old.Want, c.Want)
	}
	published.rows[key] = c
}

// TestMain looks, after a complete run of the tests, whether every exported
// function has a row and whether the committed table is what the rows say.
// UPDATE=1 in the environment rewrites the table. A run of selected tests
// collects only some rows and is not looked at.
func TestMain(m *testing.M) {
	flag.Parse()
	code := m.Run()
	if code == 0 && completeRun() {
		if err := reviewPublished(); err != nil {
			fmt.Fprintln(os.Stderr, "FAIL: "+err.Error())
			code = 1
		}
	}
	os.Exit(code)
}

func completeRun() bool {
	for _, name := range []string{"test.run", "test.skip", "test.list", "test.fuzz", "test.fuzzworker"} {
		if f := flag.Lookup(name); f != nil && f.Value.String() != f.DefValue {
			return false
		}
	}
	return true
}

func reviewPublished() error {
	published.Lock()
	defer published.Unlock()

	functions, err := exportedFunctions(".")
	if err != nil {
		return err
	}
	have := make(map[string]bool)
	for _, row := range published.rows {
		have[row.Function] = true
	}
	var problems []string
	for _, name := range functions {
		if !have[name] {
			problems = append(problems, name+" has no published check")
		}
		delete(have, name)
	}
	for name := range have {
		problems = append(problems, "published check for "+name+", which is not an exported function")
	}
	if len(problems) > 0 {
		slices.Sort(problems)
		return fmt.Errorf("%s", strings.Join(problems, "\n"))
	}

	table := renderPublished(published.rows)
	if os.Getenv("UPDATE") != "" {
		if err := os.MkdirAll(filepath.Dir(publishedTable), 0o755); err != nil {
			return err
		}
		return os.WriteFile(publishedTable, []byte(table), 0o644)
	}
	committed, err := os.ReadFile(publishedTable)
	if err != nil {
		return fmt.Errorf("%w; UPDATE=1 go test writes it", err)
	}
	if string(committed) != table {
		return fmt.Errorf("%s is stale; UPDATE=1 go test rewrites it", publishedTable)
	}
	return nil
}

func renderPublished(rows map[string]PublishedCheck) string {
	sorted := make([]PublishedCheck, 0, len(rows))
	for _, row := range rows {
		sorted = append(sorted, row)
	}
	slices.SortFunc(sorted, func(a, b PublishedCheck) int {
		return cmp.Or(cmp.Compare(a.Function, b.Function), cmp.Compare(a.Case, b.Case))
	})
	cell := func(s string) string { return strings.ReplaceAll(s, "|", `\|`) }
	var b strings.Builder
	b.WriteString("# Published checks\n\n")
	b.WriteString("Generated by the tests of service/statistic (UPDATE=1 go test ./service/statistic); do not edit.\n")
	b.WriteString("Each row is a test: it fails when expected and got agree in fewer digits (log relative error) than asked,\n")
	b.WriteString("which follows from the digits that the source prints or that float64 data can hold. 15 is the most that is counted.\n\n")
	b.WriteString("| function | case | source | where | expected | got | digits | asked | from memory |\n")
	b.WriteString("|---|---|---|---|--:|--:|--:|--:|---|\n")
	for _, r := range sorted {
		memory := ""
		if r.FromMemory {
			memory = "from memory"
		}
		asked := 15.0
		if r.Tolerance > 0 {
			asked = min(15, -math.Log10(r.Tolerance/cmp.Or(math.Abs(r.Want), 1)))
		}
		// No more digits of got than are asked, and two: the last bits of a
		// distribution function differ between processors.
		shown := min(15, int(math.Ceil(asked))+2)
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %.15g | %.*g | %.0f | %.1f | %s |\n", r.Function, cell(r.Case), cell(r.Source), cell(r.Where),
			r.Want, shown, r.Got, math.Floor(digits(r.Got, r.Want)), asked, memory)
	}
	return b.String()
}

// exportedFunctions lists the exported functions and the exported methods of
// exported types in dir's non-test files. The methods that only satisfy an
// interface of the standard library (Error, String) are left out.
func exportedFunctions(dir string) ([]string, error) {
	files, err := parseDir(dir, func(info fs.FileInfo) bool { return !strings.HasSuffix(info.Name(), "_test.go") })
	if err != nil {
		return nil, err
	}
	var names []string
	for _, file := range files {
		for _, decl := range file.Decls {
			fn, ok := decl.(*ast.FuncDecl)
			if !ok || !fn.Name.IsExported() {
				continue
			}
			if fn.Recv == nil {
				names = append(names, fn.Name.Name)
				continue
			}
			if name := fn.Name.Name; name == "Error" || name == "String" {
				continue
			}
			typ := fn.Recv.List[0].Type
			if star, ok := typ.(*ast.StarExpr); ok {
				typ = star.X
			}
			if id, ok := typ.(*ast.Ident); ok && id.IsExported() {
				names = append(names, id.Name+"."+fn.Name.Name)
			}
		}
	}
	slices.Sort(names)
	return names, nil
}

func parseDir(dir string, keep func(fs.FileInfo) bool) ([]*ast.File, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	fset := token.NewFileSet()
	var files []*ast.File
	for _, entry := range entries {
		info, err := entry.Info()
		if err != nil {
			return nil, err
		}
		if filepath.Ext(info.Name()) != ".go" || !keep(info) {
			continue
		}
		file, err := parser.ParseFile(fset, filepath.Join(dir, info.Name()), nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		files = append(files, file)
	}
	return files, nil
}
