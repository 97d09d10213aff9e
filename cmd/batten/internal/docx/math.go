package docx

import (
	"encoding/xml"
	"strings"
)

// math reads a formula of Word's editor as it would be typed on one line: a
// fraction with a stroke, a power with ^, a root with sqrt. What is not known
// is read for the words in it.
func (r *reader) math(b *strings.Builder) error {
	return r.children(func(e xml.StartElement) error { return r.mathPiece(e.Name.Local, b) }, nil)
}

func (r *reader) mathPiece(kind string, b *strings.Builder) error {
	switch kind {
	case "t":
		return r.children(func(xml.StartElement) error { return r.skip() }, func(s string) { b.WriteString(s) })
	case "f":
		p, err := r.pieces()
		b.WriteString(bracket(p["num"]) + "/" + bracket(p["den"]))
		return err
	case "sSup":
		p, err := r.pieces()
		b.WriteString(base(p["e"]) + "^" + bracket(p["sup"]))
		return err
	case "sSub":
		p, err := r.pieces()
		b.WriteString(p["e"] + p["sub"])
		return err
	case "sSubSup":
		p, err := r.pieces()
		b.WriteString(p["e"] + p["sub"] + "^" + bracket(p["sup"]))
		return err
	case "rad":
		p, err := r.pieces()
		if deg := strings.TrimSpace(p["deg"]); deg != "" && deg != "2" {
			b.WriteString(base("("+p["e"]+")") + "^(1/" + deg + ")")
		} else {
			b.WriteString("sqrt(" + p["e"] + ")")
		}
		return err
	case "d":
		return r.delimited(b)
	case "func":
		p, err := r.pieces()
		b.WriteString(p["fName"] + " " + p["e"])
		return err
	case "rPr", "ctrlPr", "fPr", "sSupPr", "sSubPr", "sSubSupPr", "radPr", "dPr", "naryPr", "funcPr", "del":
		return r.skip()
	}
	return r.math(b)
}

// pieces reads the named parts of a formula's element: numerator, exponent.
func (r *reader) pieces() (map[string]string, error) {
	out := map[string]string{}
	err := r.children(func(e xml.StartElement) error {
		var b strings.Builder
		if err := r.math(&b); err != nil {
			return err
		}
		out[e.Name.Local] = strings.TrimSpace(b.String())
		return nil
	}, nil)
	return out, err
}

// delimited reads what stands in brackets.
func (r *reader) delimited(b *strings.Builder) error {
	open, shut, inside := "(", ")", []string{}
	err := r.children(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "dPr":
			return r.children(func(e xml.StartElement) error {
				switch e.Name.Local {
				case "begChr":
					open = attr(e, "val")
				case "endChr":
					shut = attr(e, "val")
				}
				return r.skip()
			}, nil)
		case "e":
			var in strings.Builder
			if err := r.math(&in); err != nil {
				return err
			}
			inside = append(inside, in.String())
			return nil
		}
		return r.skip()
	}, nil)
	b.WriteString(open + strings.Join(inside, ", ") + shut)
	return err
}

// bracket puts brackets round more than one number or word.
func bracket(s string) string {
	if strings.ContainsAny(strings.TrimSpace(s), " +-−×*/·÷=^x") || s == "" {
		return "(" + s + ")"
	}
	return s
}

// base is what a power stands on: 96×18 with a power is not 18 with it.
func base(s string) string {
	if strings.HasPrefix(s, "(") && strings.HasSuffix(s, ")") {
		return s
	}
	return bracket(s)
}
