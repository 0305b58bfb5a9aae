package sqlite_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strings"
	"testing"
)

// queryAt is which argument of a call is SQL.
var queryAt = map[string]int{"exec": 0, "row": 0, "query": 0, "execOne": 1, "all": 2, "one": 3, "ExecContext": 1, "QueryContext": 1, "QueryRowContext": 1, "PrepareContext": 1,
	"readings": 1, "unless": 1}

// carriers hand a query on that was given to them, or run files and lists of constants.
var carriers = []string{"exec", "execOne", "row", "query", "all", "one", "apply", "prepare", "checkWriter", "readings", "unless", "erase", "inserts", "addRow"}

// TestSQLIsMadeOfConstants reads the source: what people typed reaches the database as a parameter, never as text. A query is put
// together of literals, constants, conditions gathered by where (whose values are parameters too) and a quoted name of a table.
func TestSQLIsMadeOfConstants(t *testing.T) {
	entries, err := os.ReadDir(".")
	must(t, err)
	fset, files, consts, queries := token.NewFileSet(), map[string]*ast.File{}, map[string]bool{}, 0
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), ".go") && !strings.HasSuffix(e.Name(), "_test.go") {
			files[e.Name()], err = parser.ParseFile(fset, e.Name(), nil, 0)
			must(t, err)
			constants(files[e.Name()], consts)
		}
	}
	for name, file := range files {
		for _, decl := range file.Decls {
			f, ok := decl.(*ast.FuncDecl)
			if !ok || slices.Contains(carriers, f.Name.Name) {
				continue
			}
			ast.Inspect(f, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok {
					return true
				}
				at, ok := queryAt[called(call)]
				if !ok || at >= len(call.Args) || prepared(call) {
					return true
				}
				queries++
				if !constant(call.Args[at], consts) {
					t.Errorf("%s: a query of %s in %s is not made of constants", fset.Position(call.Pos()), f.Name.Name, name)
				}
				return true
			})
		}
	}
	if queries < 80 {
		t.Errorf("only %d queries were found: the search is broken", queries)
	}
}

func constants(file *ast.File, into map[string]bool) {
	ast.Inspect(file, func(n ast.Node) bool {
		if d, ok := n.(*ast.GenDecl); ok && d.Tok == token.CONST {
			for _, spec := range d.Specs {
				for _, name := range spec.(*ast.ValueSpec).Names {
					into[name.Name] = true
				}
			}
		}
		return true
	})
}

func called(call *ast.CallExpr) string {
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return f.Sel.Name
	}
	return ""
}

// prepared reports whether a call is one of a prepared statement, whose text was given when it was prepared.
func prepared(call *ast.CallExpr) bool {
	f, ok := call.Fun.(*ast.SelectorExpr)
	if !ok {
		return false
	}
	of, ok := f.X.(*ast.SelectorExpr)
	return ok && slices.Contains([]string{"through", "seen", "seenBy", "insertOp", "insertOps", "numberOf", "rawOf", "reading", "want", "wantBy"}, of.Sel.Name)
}

func constant(e ast.Expr, consts map[string]bool) bool {
	switch x := e.(type) {
	case *ast.BasicLit:
		return x.Kind == token.STRING
	case *ast.Ident:
		return consts[x.Name] || x.Name == "from" // a constant or nothing: visitsWhere chooses
	case *ast.BinaryExpr:
		return x.Op == token.ADD && constant(x.X, consts) && constant(x.Y, consts)
	case *ast.SelectorExpr: // w.text, conditions with places for parameters
		id, ok := x.X.(*ast.Ident)
		return ok && id.Name == "w" && x.Sel.Name == "text"
	case *ast.CallExpr:
		return called(x) == "quoteName"
	}
	return false
}
