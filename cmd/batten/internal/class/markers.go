package class

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"batten/cmd/batten/internal/overrule"
)

// markers finds the marker's word on each script: NAME.marker.yaml beside it,
// where NAME is the script's name with its ending or without, or an entry in
// the marker.yaml of its folder.
func markers(items []Item, say func(string)) {
	papers := map[string]*paper{}
	for i := range items {
		it := &items[i]
		if it.err != nil || it.Path == "-" {
			continue
		}
		dir, base := filepath.Split(it.Path)
		p := papers[dir]
		if p == nil {
			p = readPaper(dir)
			papers[dir] = p
		}
		it.word, it.wordErr = p.one(base)
		it.wordSum = p.sum(it.word)
	}
	var dirs []string
	for dir := range papers {
		dirs = append(dirs, dir)
	}
	slices.Sort(dirs)
	for _, dir := range dirs {
		papers[dir].unused(say)
	}
}

// paper is what markers wrote in one folder.
type paper struct {
	dir   string
	names map[string]string // name of a file of one script, lower case → as it stands
	files map[string]bool   // names of all files there, with their endings and without
	class *overrule.Paper
	err   error
	used  map[string]bool
	sums  map[*overrule.Word]string
}

func readPaper(dir string) *paper {
	p := &paper{dir: dir, names: map[string]string{}, files: map[string]bool{}, used: map[string]bool{}, sums: map[*overrule.Word]string{}}
	look := dir
	if look == "" {
		look = "."
	}
	entries, err := os.ReadDir(look)
	if err != nil {
		return p
	}
	for _, e := range entries {
		p.files[e.Name()] = true
		p.files[strings.TrimSuffix(e.Name(), filepath.Ext(e.Name()))] = true
		switch name := strings.ToLower(e.Name()); {
		case name == classMarker:
			var data []byte
			path := filepath.Join(dir, e.Name())
			if data, p.err = readPlain(path); p.err == nil {
				p.class, p.err = overrule.ReadClass(path, data)
			}
			if p.class != nil {
				for script, w := range p.class.Scripts {
					p.sums[w] = sumOf(fmt.Appendf(nil, "%s %q %+v", path, script, *w))
				}
			}
		case strings.HasSuffix(name, oneMarker):
			p.names[e.Name()] = e.Name()
		}
	}
	return p
}

func sumOf(data []byte) string {
	s := sha256.Sum256(data)
	return hex.EncodeToString(s[:12])
}

// readPlain reads a marker's file, with a bound.
func readPlain(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("it is no file")
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %s", path, wordless(err))
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%s: %s", path, wordless(err))
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, overrule.MostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %s", path, wordless(err))
	}
	return data, nil
}

func (p *paper) sum(w *overrule.Word) string {
	if w == nil {
		return ""
	}
	return p.sums[w]
}

// one finds the word on the script of the name.
func (p *paper) one(base string) (*overrule.Word, error) {
	stem := strings.TrimSuffix(base, filepath.Ext(base))
	var found []string
	for _, name := range []string{base + oneMarker, stem + oneMarker} {
		if p.names[name] != "" && !slices.Contains(found, name) {
			found = append(found, name)
			p.used[name] = true
		}
	}
	var inClass *overrule.Word
	if p.class != nil {
		for _, name := range []string{base, stem} {
			if w := p.class.Scripts[name]; w != nil && inClass == nil {
				inClass = w
				p.used["\x00"+name] = true
				found = append(found, fmt.Sprintf("%s, line %d", classMarker, p.class.Lines[name]))
			}
		}
	}
	switch {
	case p.err != nil:
		return nil, p.err
	case len(found) > 1:
		return nil, fmt.Errorf("the marker speaks of it twice: in %s", strings.Join(found, " and in "))
	case inClass != nil:
		return inClass, nil
	case len(found) == 0:
		return nil, nil
	}
	path := filepath.Join(p.dir, found[0])
	data, err := readPlain(path)
	if err != nil {
		return nil, err
	}
	w, err := overrule.ReadOne(path, data)
	if w != nil {
		p.sums[w] = sumOf(data)
	}
	return w, err
}

// unused tells of words on scripts that are not there. One that is there and
// was not asked for is no matter.
func (p *paper) unused(say func(string)) {
	var names []string
	for name := range p.names {
		if !p.used[name] && !p.files[strings.TrimSuffix(name, oneMarker)] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		say(fmt.Sprintf("%s: there is no script of this name", filepath.Join(p.dir, name)))
	}
	if p.class == nil {
		return
	}
	names = names[:0]
	for name := range p.class.Scripts {
		if !p.used["\x00"+name] && !p.files[name] {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		say(fmt.Sprintf("%s:%d: there is no script %s", filepath.Join(p.dir, classMarker), p.class.Lines[name], name))
	}
}
