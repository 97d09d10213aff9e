package class

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"batten/cmd/batten/internal/inputs"
	"batten/cmd/batten/internal/overrule"
)

// Item is one script to be marked.
type Item struct {
	Path string // as given
	Key  string // its name among the results: no two have the same
	err  error  // why it can't be reached at all
	word *overrule.Word
	// wordErr is why the marker's word can't be taken: marks must not go out
	// without it.
	wordErr error
	wordSum string
}

// Files that a class folder holds besides scripts.
const (
	stateName   = ".batten-state.jsonl"
	classMarker = "marker.yaml"
	oneMarker   = ".marker.yaml"
)

// List lists the scripts that the arguments stand for, in the order given,
// folders in name order, each with the marker's word on it. A folder below
// that holds results of an earlier run is left out, as are hidden files,
// questions, markers' files and what a word processor keeps beside an open
// document. say is told what a person should know.
func List(args []string, out string, say func(string)) []Item {
	l := &lister{out: out, keys: map[string]bool{}, say: say}
	for _, arg := range args {
		if arg == inputs.Stdin || !inputs.IsFolder(arg) {
			base := filepath.Base(arg)
			if arg == inputs.Stdin {
				base = "standard-input"
			}
			l.add(arg, base, nil)
			continue
		}
		lead := ""
		if len(args) > 1 {
			lead = folderName(arg)
		}
		l.folder(arg, lead)
	}
	markers(l.items, say)
	return l.items
}

func folderName(dir string) string {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs
	}
	return filepath.Base(dir)
}

type lister struct {
	out   string
	items []Item
	keys  map[string]bool
	say   func(string)
}

func (l *lister) add(path, key string, err error) {
	key = safeKey(filepath.ToSlash(key))
	for n := 2; l.keys[strings.ToLower(key)]; n++ { // some disks don't part A from a
		base := strings.TrimSuffix(key, fmt.Sprintf("-%d", n-1))
		key = fmt.Sprintf("%s-%d", base, n)
	}
	l.keys[strings.ToLower(key)] = true
	l.items = append(l.items, Item{Path: path, Key: key, err: err})
}

// safeKey makes a name that can stand in the folder of results: no way out of
// it, none too long for a disk.
func safeKey(key string) string {
	parts := strings.Split(key, "/")
	for i, p := range parts {
		p = strings.Map(func(r rune) rune {
			if r < 0x20 || strings.ContainsRune(`<>:"\|?*`, r) || r == 0x7f || r == 0xfffd {
				return '_'
			}
			return r
		}, p)
		const most = 200 // bytes; an ending is still to come
		if len(p) > most {
			p = fmt.Sprintf("%s~%08x", strings.ToValidUTF8(p[:most], ""), crc(p))
		}
		if p = strings.Trim(p, " "); p == "" || strings.Trim(p, ".") == "" {
			p = "_"
		}
		parts[i] = p
	}
	return strings.Join(parts, "/")
}

func crc(s string) uint32 {
	h := uint32(2166136261)
	for i := 0; i < len(s); i++ {
		h = (h ^ uint32(s[i])) * 16777619
	}
	return h
}

func (l *lister) folder(arg, lead string) {
	found := false
	err := filepath.WalkDir(arg, func(path string, e fs.DirEntry, err error) error {
		rel, rerr := filepath.Rel(arg, path)
		if rerr != nil {
			rel = filepath.Base(path)
		}
		key := filepath.Join(lead, rel)
		switch {
		case err != nil:
			found = true
			l.add(path, key, errors.New(wordless(err)))
			if e != nil && e.IsDir() {
				return fs.SkipDir
			}
		case path == arg:
		case strings.HasPrefix(e.Name(), ".") || strings.HasPrefix(e.Name(), "~$"):
			if e.IsDir() {
				return fs.SkipDir
			}
		case e.IsDir():
			if l.results(path) {
				return fs.SkipDir
			}
		case e.Type()&fs.ModeSymlink != 0 && inputs.IsFolder(path):
			found = true
			l.add(path, key, errors.New("it is a link to a folder, which is not followed: name the folder itself"))
		case e.Type()&(fs.ModeNamedPipe|fs.ModeDevice|fs.ModeSocket) != 0:
			found = true
			l.add(path, key, errors.New("it is no file that can be read"))
		case isYAML(path):
		default:
			found = true
			l.add(path, key, nil)
		}
		return nil
	})
	switch {
	case err != nil:
		l.add(arg, folderName(arg), errors.New(wordless(err)))
	case !found:
		l.add(arg, folderName(arg), errors.New("there is no script in this folder"))
	}
}

// results tells whether a folder holds what a run wrote.
func (l *lister) results(path string) bool {
	if l.out != "" {
		a, err1 := os.Stat(l.out)
		b, err2 := os.Stat(path)
		if err1 == nil && err2 == nil && os.SameFile(a, b) {
			return true
		}
	}
	if _, err := os.Stat(filepath.Join(path, stateName)); err == nil {
		l.say(fmt.Sprintf("%s holds results of batten: it is left out", path))
		return true
	}
	return false
}

func wordless(err error) string {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "it may not be read: permission denied"
	case errors.Is(err, fs.ErrNotExist):
		return "there is no such file"
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return "it can't be read: " + err.Error()
}

func isYAML(path string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	return ext == ".yaml" || ext == ".yml"
}
