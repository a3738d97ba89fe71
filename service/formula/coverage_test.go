package formula

import (
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// excluded are the exported functions and methods of package workshop that no
// formula uses, with the reason.
var excluded = map[string]string{
	"BatteryChemistry.String": "a name, not a computation",
	"Decision.String":         "a name, not a computation",
	"IdleState.String":        "a name, not a computation",
	"JetNumbering.String":     "a name, not a computation",
	"Thread.String":           "a spelling, not a computation",
	"Tyre.String":             "a spelling, not a computation",
	"Viscosity.String":        "a spelling, not a computation",
	"InputError.Error":        "an error's text",
	"Interval.Contains":       "a comparison that the formula decision answers with the uncertainty allowed for",
}

// TestEveryComputationIsInTheCatalogue compares what package workshop exports
// with what this package calls. Methods are told apart by their names only; a
// name shared by two types would count as used for both.
func TestEveryComputationIsInTheCatalogue(t *testing.T) {
	used := make(map[string]bool)
	for _, file := range sources(t, ".") {
		imported := importNames(file)
		ast.Inspect(file, func(n ast.Node) bool {
			if s, ok := n.(*ast.SelectorExpr); ok {
				name := s.Sel.Name
				if id, ok := s.X.(*ast.Ident); ok && imported[id.Name] {
					name = id.Name + "." + name
				}
				used[name] = true
			}
			return true
		})
	}
	exported := make(map[string]bool)
	for _, file := range sources(t, "../workshop") {
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Name.IsExported() {
				exported[functionName(f)] = true
			}
		}
	}
	if len(exported) < 80 {
		t.Fatalf("found %d exported functions in package workshop", len(exported))
	}
	for _, name := range slices.Sorted(maps.Keys(exported)) {
		typeName, method, isMethod := strings.Cut(name, ".")
		isUsed := used["workshop."+name]
		if isMethod {
			isUsed = used[method]
		}
		reason := excluded[name]
		switch {
		case !isUsed && reason == "":
			t.Errorf("workshop's %s is neither used by a formula nor excluded", name)
		case isUsed && reason != "" && method != "String" && method != "Error":
			t.Errorf("workshop's %s is excluded (%s) but used", name, reason)
		case isMethod && !ast.IsExported(typeName):
			t.Errorf("workshop's %s is a method of a hidden type", name)
		}
	}
	for name := range excluded {
		if !exported[name] {
			t.Errorf("%s is excluded, but package workshop does not have it", name)
		}
	}
}

func importNames(file *ast.File) map[string]bool {
	names := make(map[string]bool)
	for _, spec := range file.Imports {
		names[path.Base(strings.Trim(spec.Path.Value, `"`))] = true
	}
	return names
}

func functionName(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return f.Name.Name
	}
	receiver := f.Recv.List[0].Type
	if pointer, ok := receiver.(*ast.StarExpr); ok {
		receiver = pointer.X
	}
	if id, ok := receiver.(*ast.Ident); ok {
		return id.Name + "." + f.Name.Name
	}
	return f.Name.Name
}

// sources parses the Go files of a directory that are not tests.
func sources(t *testing.T, dir string) []*ast.File {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var files []*ast.File
	for _, name := range paths {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, file)
	}
	return files
}
