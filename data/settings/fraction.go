package settings

import (
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// checkWhole finds the first fraction that stands where a value of type t takes
// a whole number: the library cuts it off without a word.
func checkWhole(text []byte, t reflect.Type) error {
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		return err
	}
	for _, doc := range file.Docs {
		if err := wholeIn(doc.Body, t); err != nil {
			return err
		}
	}
	return nil
}

func wholeIn(node ast.Node, t reflect.Type) error {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch n := node.(type) {
	case *ast.AnchorNode:
		return wholeIn(n.Value, t)
	case *ast.FloatNode, *ast.StringNode:
		at := node.GetToken()
		v, err := strconv.ParseFloat(at.Value, 64)
		if err == nil && v != math.Trunc(v) && t.Kind() >= reflect.Int && t.Kind() <= reflect.Uint64 {
			return &yaml.TypeError{DstType: t, SrcType: reflect.TypeFor[float64](), Token: at}
		}
	case *ast.SequenceNode:
		for _, entry := range n.Values {
			if t.Kind() != reflect.Slice && t.Kind() != reflect.Array {
				break
			}
			if err := wholeIn(entry, t.Elem()); err != nil {
				return err
			}
		}
	case *ast.MappingNode:
		for _, pair := range n.Values {
			value := typeOf(t, pair.Key.GetToken().Value)
			if value == nil {
				continue
			}
			if err := wholeIn(pair.Value, value); err != nil {
				return err
			}
		}
	}
	return nil
}

// typeOf is the type of a key's value; nil where there is none such.
func typeOf(t reflect.Type, key string) reflect.Type {
	switch t.Kind() {
	case reflect.Map:
		return t.Elem()
	case reflect.Struct:
		for _, f := range reflect.VisibleFields(t) {
			if name, _, _ := strings.Cut(f.Tag.Get("yaml"), ","); name == key && name != "" {
				return f.Type
			}
		}
	}
	return nil
}
