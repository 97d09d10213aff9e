package rules

import (
	"fmt"
	"io/fs"
	"testing"
)

// differ names the first place where two trees are not the same.
func differ(a, b *node) string {
	switch {
	case a.kind != b.kind:
		return fmt.Sprintf("kind %d and %d at %d:%d", a.kind, b.kind, a.line, a.column)
	case a.text != b.text:
		return fmt.Sprintf("%q and %q at %d:%d", a.text, b.text, a.line, a.column)
	case a.quoted != b.quoted:
		return fmt.Sprintf("quoted or not at %d:%d", a.line, a.column)
	case a.line != b.line || a.column != b.column:
		return fmt.Sprintf("%q at %d:%d and %d:%d", a.text, a.line, a.column, b.line, b.column)
	case len(a.pairs) != len(b.pairs) || len(a.items) != len(b.items):
		return fmt.Sprintf("%d and %d pairs, %d and %d items at %d:%d", len(a.pairs), len(b.pairs), len(a.items), len(b.items), a.line, a.column)
	}
	for i := range a.pairs {
		if d := differ(a.pairs[i].key, b.pairs[i].key); d != "" {
			return d
		}
		if d := differ(a.pairs[i].value, b.pairs[i].value); d != "" {
			return d
		}
	}
	for i := range a.items {
		if d := differ(a.items[i], b.items[i]); d != "" {
			return d
		}
	}
	return ""
}

func TestQuickReaderReadsAsTheLibraryDoes(t *testing.T) {
	var files []string
	for _, pattern := range []string{"*.yaml", "*/*.yaml"} {
		found, err := fs.Glob(builtin, pattern)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, found...)
	}
	for _, f := range files {
		data, err := fs.ReadFile(builtin, f)
		if err != nil {
			t.Fatal(err)
		}
		want, e := readYAML(f, data)
		if e != nil {
			t.Error(e)
			continue
		}
		got, ok := readPlain(string(data))
		if !ok {
			t.Errorf("%s: not as plain as the quick reader wants; it is read by the library, and the program starts later", f)
			continue
		}
		if d := differ(got, want); d != "" {
			t.Errorf("%s: the quick reader and the library differ: %s", f, d)
		}
	}
}

// Where the quick reader reads a text at all, it reads it as the library does.
func FuzzQuickReader(f *testing.F) {
	for _, s := range []string{small, smallGeneric, "a: b\n", "a:\n  - {b: c, d: [e, 'f']}\n  - g: >-\n      h\n      i\n", "a: &x\n  - b\nc: *x\n", "a: 1 # b\n", "a: \"b\": c",
		"a: b: c", "a: [b, c: d]", "- a", "a:\n- b\n", "a: b\n c\n", "a: {b: c,}\n", "a: 'b''c'\n", "a: true\nb: 0x10\nc: ~\n", "µ: Δ # ½\nb: {é: 'ü', x: ö}\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, ok := readPlain(text)
		if !ok {
			return
		}
		want, err := readYAML("x", []byte(text))
		if err != nil {
			t.Skip() // the library is stricter here; what it refuses is no file of ours
		}
		if d := differ(got, want); d != "" {
			t.Errorf("%q: %s", text, d)
		}
	})
}
