package main

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"swardbook/diagnose/knowledge"
)

// never says which package may not import which, and why. A prefix ending in /... stands for all below it.
var never = []struct{ from, never, why string }{
	{"swardbook/diagnose/checks", "swardbook/...", "the reader of typed text stands on nothing of ours"},
	{"swardbook/diagnose/agronomy/...", "swardbook/...", "formulas stand on nothing of ours"},
	{"swardbook/migrations", "swardbook/...", "migrations are files and nothing else"},
	{"swardbook/static", "swardbook/...", "what browsers get stands on nothing of ours"},
	{"swardbook/diagnose/...", "swardbook/store/...", "the engine could be sold alone"},
	{"swardbook/diagnose/...", "swardbook/web/...", "the engine could be sold alone"},
	{"swardbook/diagnose/...", "swardbook/server", "the engine could be sold alone"},
	{"swardbook/diagnose/...", "net/http", "the engine has no HTTP"},
	{"swardbook/diagnose/...", "database/sql", "the engine has no database"},
	{"swardbook/store/...", "swardbook/web/...", "imports point down"},
	{"swardbook/store", "net/http", "nouns do not know how they are reached"},
	{"swardbook/store/sqlite", "net/http", "SQL does not know how it is reached"},
	{"swardbook/store/history", "net/http", "records do not know how they are reached"},
	{"swardbook/store", "swardbook/store/...", "nouns know nothing of who keeps them"},
	{"swardbook/store/intake", "swardbook/store/sqlite", "the door in knows the store by a small interface"},
	{"swardbook/store/history", "swardbook/store/sqlite", "the window out knows the store by a small interface"},
	{"swardbook/store/lessons", "swardbook/store/sqlite", "what is learned knows the store by a small interface"},
	{"swardbook/store/lessons", "net/http", "what is learned does not know how it is asked for"},
	{"swardbook/store/sqlite", "swardbook/store/intake", "SQL knows no rule of the door"},
	{"swardbook/store/sqlite", "swardbook/store/history", "SQL knows no page"},
	{"swardbook/web/page", "swardbook/web/field", "components know no handler"},
	{"swardbook/web/page", "swardbook/web/desk", "components know no handler"},
	{"swardbook/web/page", "swardbook/store/sqlite", "no query in a page"},
	{"swardbook/web/field", "swardbook/web/desk", "the yard and the desk are apart"},
	{"swardbook/web/desk", "swardbook/web/field", "the yard and the desk are apart"},
	{"swardbook/web/...", "swardbook/store/sqlite", "handlers name the few methods they need"},
	{"swardbook/...", "swardbook/server", "nothing imports the program"},
}

type goPackage struct {
	ImportPath, Dir, Doc string
	Imports              []string
	GoFiles              []string
}

func packages(t *testing.T) []goPackage {
	t.Helper()
	cmd := exec.Command("go", "list", "-json", "./...")
	cmd.Dir = root(t)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all []goPackage
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p goPackage
		if err := dec.Decode(&p); err == io.EOF {
			return all
		} else if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
}

func root(t *testing.T) string {
	t.Helper()
	dir, err := filepath.Abs("..")
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

func matches(pattern, path string) bool {
	if prefix, all := strings.CutSuffix(pattern, "/..."); all {
		return strings.HasPrefix(path, prefix+"/") || path == prefix
	}
	return pattern == path
}

func TestImportsPointDown(t *testing.T) {
	all := packages(t)
	if len(all) < 12 {
		t.Fatalf("only %d packages found", len(all))
	}
	for _, p := range all {
		for _, rule := range never {
			if !matches(rule.from, p.ImportPath) {
				continue
			}
			for _, imported := range p.Imports {
				own := matches(rule.from, imported) && strings.HasSuffix(rule.from, "/...")
				if matches(rule.never, imported) && imported != p.ImportPath && (!own || rule.from == "swardbook/...") {
					if rule.from == "swardbook/store" && imported == "swardbook/store" {
						continue
					}
					t.Errorf("%s imports %s: %s", p.ImportPath, imported, rule.why)
				}
			}
		}
	}
}

func TestEveryPackageSaysWhatItIs(t *testing.T) {
	for _, p := range packages(t) {
		if len(p.Doc) < 25 {
			t.Errorf("%s has no package comment that says what it is", p.ImportPath)
		}
	}
}

// TestExportedNamesAreDocumented reads every hand-written file.
func TestExportedNamesAreDocumented(t *testing.T) {
	for _, p := range packages(t) {
		for _, name := range p.GoFiles {
			if strings.HasSuffix(name, "_templ.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), filepath.Join(p.Dir, name), nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			for _, missing := range undocumented(file) {
				t.Errorf("%s/%s: %s has no comment", p.ImportPath, name, missing)
			}
		}
	}
}

func undocumented(file *ast.File) (names []string) {
	for _, decl := range file.Decls {
		switch d := decl.(type) {
		case *ast.FuncDecl:
			if d.Name.IsExported() && d.Doc == nil && (d.Recv == nil || exportedReceiver(d.Recv)) {
				names = append(names, d.Name.Name)
			}
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				if s, ok := spec.(*ast.TypeSpec); ok && s.Name.IsExported() && d.Doc == nil && s.Doc == nil {
					names = append(names, s.Name.Name)
				}
			}
		}
	}
	return names
}

func exportedReceiver(recv *ast.FieldList) bool {
	kind := recv.List[0].Type
	if star, ok := kind.(*ast.StarExpr); ok {
		kind = star.X
	}
	id, ok := kind.(*ast.Ident)
	return ok && id.IsExported()
}

var quoted = regexp.MustCompile("[\"'`]([a-z][a-z0-9_]*)[\"'`]")

// TestNoKnowledgeInCode holds the law that adding a check is adding data: no id of a check, finding or cause stands quoted
// in a program text. Words of one syllable that are ordinary English (a state called "none", say) are not ids of these kinds.
func TestNoKnowledgeInCode(t *testing.T) {
	loaded, err := knowledge.Load()
	if err != nil {
		t.Fatal(err)
	}
	ids := map[string]bool{}
	for _, c := range loaded.Bundle.Checks {
		ids[c.ID] = true
	}
	for _, f := range loaded.Bundle.Findings {
		ids[f.ID] = true
	}
	for _, c := range loaded.Bundle.Causes {
		ids[c.ID] = true
	}
	for _, kind := range []string{"note", "photo", "species", "spot"} { // kinds of checks bear these names too, and inputs of formulas the last two
		delete(ids, kind)
	}
	walked := 0
	err = filepath.WalkDir(root(t), func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && path != root(t) || slices.Contains([]string{"jstest", "node_modules", "data", "testdata"}, d.Name())) {
			return filepath.SkipDir
		}
		if !programText(d.Name()) {
			return nil
		}
		walked++
		text, err := os.ReadFile(path)
		for _, m := range quoted.FindAllSubmatch(text, -1) {
			if ids[string(m[1])] {
				t.Errorf("%s names %q: what a check or cause is belongs into diagnose/knowledge", path, m[1])
			}
		}
		return err
	})
	if err != nil || walked < 50 {
		t.Fatalf("walked %d files: %v", walked, err)
	}
}

func programText(name string) bool {
	switch filepath.Ext(name) {
	case ".go":
		return !strings.HasSuffix(name, "_test.go")
	case ".templ", ".js":
		return true
	}
	return false
}

// TestGeneratedPagesAreUpToDate generates into a copy and compares.
func TestGeneratedPagesAreUpToDate(t *testing.T) {
	dir := root(t)
	sources, err := filepath.Glob(filepath.Join(dir, "web/page/*.templ"))
	if err != nil || len(sources) == 0 {
		t.Fatalf("no page sources: %v", err)
	}
	copyDir := filepath.Join(t.TempDir(), "page")
	if err := os.Mkdir(copyDir, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, src := range sources {
		text, err := os.ReadFile(src)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(copyDir, filepath.Base(src)), text, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("go", "tool", "-modfile=.ci/tools/go.mod", "templ", "generate", "-path", copyDir)
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, src := range sources {
		name := strings.TrimSuffix(filepath.Base(src), ".templ") + "_templ.go"
		want, err1 := os.ReadFile(filepath.Join(copyDir, name))
		have, err2 := os.ReadFile(filepath.Join(dir, "web/page", name))
		if err1 != nil || err2 != nil || !bytes.Equal(sameNames(want), sameNames(have)) {
			t.Errorf("web/page/%s is not what %s gives: run go generate ./web/page (%v, %v)", name, filepath.Base(src), err1, err2)
		}
	}
}

var sourcePath = regexp.MustCompile("FileName: `[^`]*`")

// sameNames blanks the source paths that generated code carries, since the copy lies elsewhere.
func sameNames(code []byte) []byte { return sourcePath.ReplaceAll(code, []byte("FileName: ``")) }
