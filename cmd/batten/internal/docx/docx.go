// Package docx reads the words of a Word document (.docx) as lines of text: a
// line for each paragraph and for each row of a table, with the cells parted
// by "|". It follows the parts of Office Open XML that homework is made of, and
// is bounded in what it opens, however the file was packed.
package docx

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// Bounds: a worked answer is far below each of them.
const (
	mostXML   = 24 << 20 // of one part of the document, unpacked
	mostText  = 4 << 20  // of all its words
	mostDepth = 200      // of elements in one another
	mostParts = 20000    // files in the archive
)

// Document is what was read.
type Document struct {
	Text     string // lines ended by \n
	Pictures int    // pictures, and other things that hold no words
}

// errNone tells of an archive that is no Word document.
var errNone = errors.New("it is a zip archive, but no Word document")

// Is tells whether the file begins like an archive, as a Word document does.
func Is(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }

// Read reads a document. Its errors are worded for a person.
func Read(data []byte) (*Document, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, errors.New("it begins like a Word document, but is damaged")
	}
	if len(z.File) > mostParts {
		return nil, fmt.Errorf("it is an archive of %d files: no Word document", len(z.File))
	}
	files := map[string]*zip.File{}
	for _, f := range z.File {
		files[strings.TrimPrefix(f.Name, "/")] = f
	}
	main := mainPart(files)
	if files[main] == nil {
		return nil, errNone
	}
	body, err := unpack(files[main])
	if err != nil {
		return nil, err
	}
	r := &reader{numbers: readNumbering(files[path.Join(path.Dir(main), "numbering.xml")])}
	r.dec = xml.NewDecoder(bytes.NewReader(body))
	r.dec.Strict = true
	if err := r.document(); err != nil {
		return nil, err
	}
	return &Document{Text: r.out.String(), Pictures: r.pictures}, nil
}

// mainPart finds the name of the part that holds the words.
func mainPart(files map[string]*zip.File) string {
	const usual = "word/document.xml"
	rels := files["_rels/.rels"]
	if rels == nil {
		return usual
	}
	data, err := unpack(rels)
	if err != nil {
		return usual
	}
	var all struct {
		Relationship []struct {
			Type   string `xml:",attr"`
			Target string `xml:",attr"`
		}
	}
	if xml.Unmarshal(data, &all) != nil {
		return usual
	}
	for _, rel := range all.Relationship {
		if strings.HasSuffix(rel.Type, "/officeDocument") {
			return strings.TrimPrefix(path.Clean(rel.Target), "/")
		}
	}
	return usual
}

// unpack reads one file of the archive, so much of it and no more. What the
// archive says of its size is not relied on.
func unpack(f *zip.File) ([]byte, error) {
	in, err := f.Open()
	if err != nil {
		return nil, errors.New("it is a Word document, but is damaged or packed in a way that is not read")
	}
	defer in.Close()
	data, err := io.ReadAll(io.LimitReader(in, mostXML+1))
	switch {
	case len(data) > mostXML:
		return nil, fmt.Errorf("it is a Word document of over %d MB unpacked: too large for a worked answer", mostXML>>20)
	case err != nil:
		return nil, errors.New("it is a Word document, but is damaged")
	}
	return data, nil
}

// reader goes through the document's XML once.
type reader struct {
	dec      *xml.Decoder
	depth    int
	out      strings.Builder
	numbers  *numbering
	pictures int
	boxed    []string // lines of text boxes, which stand below their paragraph
}

var errLong = fmt.Errorf("it is a Word document of over %d MB of text: too large for a worked answer", mostText>>20)

func (r *reader) document() error {
	for {
		t, err := r.dec.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return errors.New("it is a Word document, but is damaged")
		}
		if start, ok := t.(xml.StartElement); ok && start.Name.Local == "body" {
			return r.blocks(func(line string) error {
				if r.out.Len()+len(line) > mostText {
					return errLong
				}
				r.out.WriteString(line)
				r.out.WriteByte('\n')
				return nil
			})
		}
	}
}

// children calls each for every element below the one just opened, to its end.
// each must read its element to the end, or leave it by skip. words gets the
// text between.
func (r *reader) children(each func(xml.StartElement) error, words func(string)) error {
	r.depth++
	defer func() { r.depth-- }()
	if r.depth > mostDepth {
		return errors.New("it is a Word document whose parts lie too deep in one another")
	}
	for {
		t, err := r.dec.Token()
		if err != nil {
			return errors.New("it is a Word document, but is damaged")
		}
		switch t := t.(type) {
		case xml.StartElement:
			if err := each(t); err != nil {
				return err
			}
		case xml.CharData:
			if words != nil {
				words(string(t))
			}
		case xml.EndElement:
			return nil
		}
	}
}

// skip leaves the element just opened. (Decoder.Skip keeps no count of depth.)
func (r *reader) skip() error {
	for open := 1; open > 0; {
		t, err := r.dec.Token()
		if err != nil {
			return errors.New("it is a Word document, but is damaged")
		}
		switch t.(type) {
		case xml.StartElement:
			open++
		case xml.EndElement:
			open--
		}
	}
	return nil
}

// blocks reads paragraphs and tables, and whatever wraps them.
func (r *reader) blocks(line func(string) error) error {
	return r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "p":
			text, err := r.paragraph()
			if err != nil {
				return err
			}
			for _, l := range strings.Split(text, "\n") {
				if err := line(l); err != nil {
					return err
				}
			}
			boxed := r.boxed
			r.boxed = nil
			for _, l := range boxed {
				if err := line(l); err != nil {
					return err
				}
			}
			return nil
		case "tbl":
			return r.table(line)
		case "del", "moveFrom", "sectPr", "Fallback":
			return r.skip()
		}
		return r.blocks(line)
	}, nil)
}

// table reads a table: a line for each row.
func (r *reader) table(line func(string) error) error {
	return r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "tr":
			var cells []string
			if err := r.row(&cells); err != nil {
				return err
			}
			return line(strings.Join(cells, " | "))
		case "tblPr", "tblGrid", "del", "moveFrom":
			return r.skip()
		}
		return r.table(line)
	}, nil)
}

func (r *reader) row(cells *[]string) error {
	return r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "tc":
			var words []string
			err := r.blocks(func(l string) error {
				if l = strings.TrimSpace(l); l != "" {
					words = append(words, l)
				}
				return nil
			})
			*cells = append(*cells, strings.Join(words, " "))
			return err
		case "trPr", "tblPrEx", "del":
			return r.skip()
		}
		return r.row(cells)
	}, nil)
}
