package hours

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

type tokenKind uint8

const (
	end     tokenKind = iota
	number            // digits
	word              // letters, in lower case
	mark              // one of , ; : - + / [ ] ( ) . or ||
	comment           // the text between double quotes
)

type token struct {
	kind  tokenKind
	text  string
	start int // byte offset in the expression
}

// mended are words and signs of other spellings, replaced where they stand
// alone.
var mended = map[string]string{"to": "-", "until": "-", "and": ",", "&": ",", "–": "-", "—": "-", "‒": "-", "−": "-", "‐": "-", "‑": "-"}

// lex cuts an expression into tokens; ok is false at a character or quote that
// belongs to none, and then the last token is where that is.
func lex(text string) (tokens []token, ok bool) {
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case unicode.IsSpace(r):
			i += size
			continue
		case r == '"':
			n := strings.IndexByte(text[i+1:], '"')
			if n < 0 {
				return append(tokens, token{end, text[i:], i}), false
			}
			tokens = append(tokens, token{comment, text[i+1 : i+1+n], i})
			i += n + 2
			continue
		}
		t := token{start: i}
		switch {
		case r >= '0' && r <= '9':
			t.kind, t.text = number, run(text[i:], func(r rune) bool { return r >= '0' && r <= '9' })
		case unicode.IsLetter(r):
			t.kind, t.text = word, run(text[i:], unicode.IsLetter)
		case strings.HasPrefix(text[i:], "||"):
			t.kind, t.text = mark, "||"
		default:
			t.kind, t.text = mark, text[i:i+size]
		}
		i += len(t.text)
		if t.kind == word {
			t.text = strings.ToLower(t.text)
		}
		if as, found := mended[t.text]; found {
			t.kind, t.text = mark, as
		}
		if t.kind == mark && !strings.Contains(",;:-+/[]().||", t.text) {
			return append(tokens, t), false
		}
		tokens = append(tokens, t)
	}
	return append(tokens, token{end, "", len(text)}), true
}

func run(s string, in func(rune) bool) string {
	for i, r := range s {
		if !in(r) {
			return s[:i]
		}
	}
	return s
}
