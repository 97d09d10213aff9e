package cohort

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"strings"
)

// Class is the example class: the files of forty scripts by name, and beside
// them what a marker wrote. Most are Script's; some are odd, as homework is.
func Class() map[string][]byte {
	files := map[string][]byte{}
	for n := 1; n <= 40; n++ {
		name := fmt.Sprintf("candidate-%02d", n)
		text, _ := Script(n)
		written, isOdd := odd[n]
		switch {
		case isOdd:
			files[name+".txt"] = []byte(written)
		case n == 9: // typed in Word, with the parts as a list and a table for the moments
			files[name+".docx"] = Docx(text)
		case n == 26:
			files[name+".docx"] = Docx(text)
		case n == 15: // an editor with other line ends, and a mark before the first byte
			files[name+".txt"] = []byte("\ufeff" + strings.ReplaceAll(text, "\n", "\r\n"))
		case n == 34: // the same file handed in under another name
			files[name+".txt"] = files["candidate-33.txt"]
		case n == 17: // saved by an old editor
			files[name+".txt"] = bytes.ReplaceAll([]byte(text+"\nlist: none, 0\xb0\n"), []byte("×"), []byte("\xd7"))
		case n == 28:
			files[name+".pdf"] = []byte("%PDF-1.4\n% a scan\n%%EOF\n")
		default:
			files[name+".txt"] = []byte(text)
		}
	}
	files["marker.yaml"] = []byte(marker)
	files["candidate-32.marker.yaml"] = []byte(marker32)
	return files
}

// odd scripts, by number.
var odd = map[int]string{
	13: "Name: Candidate 13\n\nSorry, I could not do this one.\n",
	22: "",
	30: `Name: Candidate 30
Question: hold-above-tank-top
a)
used 453.6 and 1576.8 so 0.29
8.4
18 by 3
= = 453.6
then (453.6 / 1576.8
draught up to 4.79
b) BMs 6.00 5.48
2.25, 2.35
KM went from 8.25 to 7.83 so GM down 0.42 m
`,
	32: `Name: Candidate 32
(a)
lost length = 14 x 0.6 = 8.4 m
lost volume = 8.4 x 18 x 3 = 453.6 m3
intact WPA = 87.6 x 18 = 1576.8 m2
sinkage = 453.6 / 1576.8 = 0.301 m
new draught = 4.5 + 0.301 = 4.801 m
(b)
KB = 2.25 m
BM = 6.00 m
KM = 8.25 m
new KB = 2.61 m
new BM = 5.48 m
new KM = 2.61 + 5.48 = 8.09 m
change of GM = 8.25 - 8.09 = 0.16 m decrease
`,
	37: `Name: Candidate 37
(a)
weight of lost buoyancy = 14 x 0.6 x 18 x 3 x 1.025 = 464.94 t
intact area = 96 x 18 - 8.4 x 18 = 1576.8 m2
TPC = 1576.8 x 1.025 / 100 = 16.162
sinkage = 464.94 / 16.162 = 28.77 cm
new draught = 4.500 + 0.288 = 4.788 m
(b)
KB = 2.25
BM = 18^2 / (12 x 4.5) = 6.00
KM = 8.25 m
KB1 = (96 x 18 x 4.788 x 2.394 - 8.4 x 18 x 3.288 x 3.144) / 7776 = 2.35 m
BM1 = 87.6 x 18^3 / (12 x 7776) = 5.48 m
KM1 = 7.83 m
therefore GM falls 0.42 m
`,
}

const marker = `# What the marker says over what was found. Each entry has its reason.
marker: Tutor A
scripts:
  candidate-04.txt:
    marks:
      - {part: b, marks: 2, reason: KB and BM before bilging are on a sheet handed in with it}
  candidate-12.txt:
    change:
      - line: 4
        severity: clerical
        reason: the depth is right in the sketch beside it; a slip of the pen
  candidate-19.txt: {} # read, and agreed with
  candidate-24.txt: {}
  candidate-25.txt:
    dismiss:
      - {line: 21, fault: direction-missing, reason: said aloud when it was handed in}
  candidate-30.txt:
    add:
      - {line: 4, title: figures without what they stand for, severity: clerical, reason: nobody else could check them}
`

const marker32 = `marker: Tutor A
change:
  - line: 6
    fault: arithmetic-slip
    to: figure-miscopied
    reason: 0.288 stands on the rough sheet; it was not copied from there as it is
`

// Docx wraps text as a Word document: a paragraph for each line, rows with "|"
// as tables.
func Docx(text string) []byte {
	var body strings.Builder
	inTable := false
	for _, l := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		row := strings.Contains(l, " | ")
		if row != inTable {
			body.WriteString(map[bool]string{true: "<w:tbl>", false: "</w:tbl>"}[row])
			inTable = row
		}
		if row {
			body.WriteString("<w:tr>")
			for _, c := range strings.Split(l, " | ") {
				body.WriteString("<w:tc>" + paragraph(c) + "</w:tc>")
			}
			body.WriteString("</w:tr>")
			continue
		}
		body.WriteString(paragraph(l))
	}
	if inTable {
		body.WriteString("</w:tbl>")
	}
	return Archive(map[string]string{
		"_rels/.rels":         `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="word/document.xml"/></Relationships>`,
		"[Content_Types].xml": `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Override PartName="/word/document.xml" ContentType="application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"/></Types>`,
		"word/document.xml":   `<w:document xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"><w:body>` + body.String() + `</w:body></w:document>`,
	})
}

func paragraph(s string) string {
	parts := strings.Split(s, "\t")
	for i, p := range parts {
		parts[i] = `<w:t xml:space="preserve">` + html.EscapeString(p) + `</w:t>`
	}
	return "<w:p><w:r>" + strings.Join(parts, "<w:tab/>") + "</w:r></w:p>"
}

// Archive packs files as a zip, the same bytes each time.
func Archive(files map[string]string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range []string{"[Content_Types].xml", "_rels/.rels", "word/document.xml", "word/numbering.xml"} {
		text, ok := files[name]
		if !ok {
			continue
		}
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write([]byte(text))
		}
		if err != nil {
			panic(err) // memory does not fail
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}
