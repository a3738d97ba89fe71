package published

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// exportedFunctions lists the exported functions and the exported methods of
// exported types in dir's non-test files. The methods that only satisfy an
// interface of the standard library (Error, String) are left out.
func exportedFunctions(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	fset := token.NewFileSet()
	var names []string
	for _, entry := range entries {
		if filepath.Ext(entry.Name()) != ".go" || strings.HasSuffix(entry.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(fset, filepath.Join(dir, entry.Name()), nil, parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		for _, decl := range file.Decls {
			if fn, ok := decl.(*ast.FuncDecl); ok {
				names = appendExported(names, fn)
			}
		}
	}
	slices.Sort(names)
	return names, nil
}

func appendExported(names []string, fn *ast.FuncDecl) []string {
	switch name := fn.Name.Name; {
	case !fn.Name.IsExported():
		return names
	case fn.Recv == nil:
		return append(names, name)
	case name == "Error" || name == "String":
		return names
	}
	typ := fn.Recv.List[0].Type
	if star, ok := typ.(*ast.StarExpr); ok {
		typ = star.X
	}
	if id, ok := typ.(*ast.Ident); ok && id.IsExported() {
		names = append(names, id.Name+"."+fn.Name.Name)
	}
	return names
}
