package stops_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// The planner is trusted because it can be read and replayed: the same
// numbers give the same plan on every machine. So it may import only what
// computes.
func TestImportsOnlyWhatComputes(t *testing.T) {
	allowed := map[string]bool{
		"ampleway/energy/taper": true,
		"cmp":                   true, "errors": true, "fmt": true, "math": true, "math/bits": true, "slices": true, "sort": true, "strconv": true,
	}
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, i := range f.Imports {
			path, _ := strconv.Unquote(i.Path.Value)
			if !allowed[path] {
				t.Errorf("%s imports %s: route/stops is pure arithmetic (no files, clocks, randomness, geometry or goroutines), so that the same trip gives the same plan everywhere and every plan can be proven by replaying it", name, path)
			}
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if g, ok := n.(*ast.GoStmt); ok {
				t.Errorf("%s starts a goroutine at %v: the planner does one thing after another, so that its order never shows", name, g.Pos())
			}
			return true
		})
	}
}
