package docx_test

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"

	"batten/cmd/batten/internal/class/cohort"
	"batten/cmd/batten/internal/docx"
)

func document(body string) map[string]string {
	return map[string]string{"word/document.xml": `<w:document xmlns:w="w" xmlns:m="m" xmlns:mc="mc"><w:body>` + body + `</w:body></w:document>`}
}

func TestRead(t *testing.T) {
	lists := `<w:numbering xmlns:w="w"><w:abstractNum w:abstractNumId="0"><w:lvl w:ilvl="0"><w:start w:val="1"/><w:numFmt w:val="lowerLetter"/><w:lvlText w:val="(%1)"/></w:lvl></w:abstractNum><w:num w:numId="1"><w:abstractNumId w:val="0"/></w:num></w:numbering>`
	item := func(s string) string {
		return `<w:p><w:pPr><w:numPr><w:ilvl w:val="0"/><w:numId w:val="1"/></w:numPr></w:pPr><w:r><w:t>` + s + `</w:t></w:r></w:p>`
	}
	for _, c := range []struct{ reason, body, want string }{
		{"a paragraph is a line, an empty one too", `<w:p><w:r><w:t>KB = 2.25 m</w:t></w:r></w:p><w:p/><w:p><w:r><w:t>x</w:t></w:r></w:p>`, "KB = 2.25 m\n\nx\n"},
		{"runs join, tabs stay, a broken line is two", `<w:p><w:r><w:t xml:space="preserve">KB </w:t></w:r><w:r><w:tab/><w:t>2.25</w:t><w:br/><w:t>BM</w:t></w:r></w:p>`, "KB \t2.25\nBM\n"},
		{"a row is a line, whatever paragraphs its cells hold", `<w:tbl><w:tblPr/><w:tr><w:tc><w:tcPr/><w:p><w:r><w:t>whole</w:t></w:r></w:p></w:tc><w:tc><w:p><w:r><w:t>8273.7</w:t></w:r></w:p><w:p><w:r><w:t>m3</w:t></w:r></w:p></w:tc><w:tc><w:p/></w:tc></w:tr></w:tbl>`, "whole | 8273.7 m3 | \n"},
		{"a raised figure is a power", `<w:p><w:r><w:t>18</w:t></w:r><w:r><w:rPr><w:vertAlign w:val="superscript"/></w:rPr><w:t>3</w:t></w:r></w:p>`, "18³\n"},
		{"what is struck through is marked so", `<w:p><w:r><w:rPr><w:strike/></w:rPr><w:t>ab</w:t></w:r><w:r><w:rPr><w:strike w:val="0"/></w:rPr><w:t>c</w:t></w:r></w:p>`, "a\u0336b\u0336c\n"},
		{"deleted words are gone, inserted ones are there", `<w:p><w:del><w:r><w:delText>old</w:delText></w:r></w:del><w:ins><w:r><w:t>new</w:t></w:r></w:ins></w:p>`, "new\n"},
		{"the number of a list is text to a reader", item("first") + item("second"), "(a) first\n(b) second\n"},
		{"a fraction, a power and a root", `<w:p><m:oMath><m:r><m:t>BM=</m:t></m:r><m:f><m:num><m:r><m:t>L</m:t></m:r><m:sSup><m:e><m:r><m:t>B</m:t></m:r></m:e><m:sup><m:r><m:t>3</m:t></m:r></m:sup></m:sSup></m:num><m:den><m:r><m:t>12V</m:t></m:r></m:den></m:f></m:oMath></w:p>`, "BM=(LB^3)/12V\n"},
		{"words in a text box stand below", `<w:p><w:r><w:t>a</w:t></w:r><w:r><mc:AlternateContent><mc:Choice><w:drawing><w:txbxContent><w:p><w:r><w:t>boxed</w:t></w:r></w:p></w:txbxContent></w:drawing></mc:Choice><mc:Fallback><w:pict/></mc:Fallback></mc:AlternateContent></w:r></w:p>`, "a\nboxed\n"},
	} {
		files := document(c.body)
		files["word/numbering.xml"] = lists
		d, err := docx.Read(cohort.Archive(files))
		if err != nil {
			t.Errorf("%s: %v", c.reason, err)
		} else if d.Text != c.want {
			t.Errorf("%s:\n got %q\nwant %q", c.reason, d.Text, c.want)
		}
	}
	d, err := docx.Read(cohort.Archive(document(`<w:p><w:r><w:drawing><x/></w:drawing></w:r></w:p>`)))
	if err != nil || d.Pictures != 1 {
		t.Errorf("a picture: %+v, %v", d, err)
	}
}

func TestRefused(t *testing.T) {
	deep := strings.Repeat("<w:sdt>", 5000) + strings.Repeat("</w:sdt>", 5000)
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, _ := z.Create("word/document.xml")
	w.Write([]byte(`<w:document xmlns:w="w"><w:body><w:p><w:r><w:t>`))
	chunk := bytes.Repeat([]byte("0"), 1<<20)
	for range 200 {
		w.Write(chunk)
	}
	z.Close()
	long := strings.Repeat(`<w:p><w:r><w:t>`+strings.Repeat("9", 1000)+`</w:t></w:r></w:p>`, 5000)
	for _, c := range []struct {
		reason string
		data   []byte
		want   string
	}{
		{"an archive of something else", cohort.Archive(map[string]string{"[Content_Types].xml": "<x/>"}), "no Word document"},
		{"cut short", cohort.Docx("KB = 2.25")[:120], "damaged"},
		{"no XML within", cohort.Archive(map[string]string{"word/document.xml": "<w:document><w:body><w:p>"}), "damaged"},
		{"one element in another without end", cohort.Archive(document(deep)), "too deep"},
		{"a small file that unpacks to a large one", bomb.Bytes(), "too large"},
		{"too many words", cohort.Archive(document(long)), "too large"},
	} {
		_, err := docx.Read(c.data)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.reason, err, c.want)
		}
	}
}

func FuzzDocument(f *testing.F) {
	f.Add(`<w:p><w:r><w:t>KB</w:t></w:r></w:p>`)
	f.Add(`<w:tbl><w:tr><w:tc><w:p/></w:tc></w:tr></w:tbl><m:oMath><m:f><m:num/><m:den/></m:f></m:oMath>`)
	f.Fuzz(func(t *testing.T, body string) {
		docx.Read(cohort.Archive(document(body))) // an answer or a refusal, no panic
	})
}
