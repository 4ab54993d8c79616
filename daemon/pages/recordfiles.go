package pages

import (
	"bytes"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strconv"

	"fairwindow/daemon/record"
	"fairwindow/daemon/record/paper"
)

// paperOf is a record on paper as its reader reads.
func (p *pages) paperOf(r *http.Request) paper.Style {
	c, is := p.clock(r), p.reader(r)
	return paper.Style{US: is.units == "US", Zone: c.zone, Twelve: is.twelve, Against: against}
}

func (p *pages) recordPDF(w http.ResponseWriter, r *http.Request) error {
	return p.recordFile(w, r, ".pdf", "application/pdf", func(is record.Record, w io.Writer) error { return paper.Write(w, is, p.paperOf(r)) })
}

func (p *pages) recordCSV(w http.ResponseWriter, r *http.Request) error {
	return p.recordFile(w, r, ".csv", "text/csv; charset=utf-8; header=present", record.Record.CSV)
}

func (p *pages) recordJSON(w http.ResponseWriter, r *http.Request) error {
	return p.recordFile(w, r, ".json", "application/json", func(is record.Record, w io.Writer) error {
		text, err := is.Canonical()
		if err == nil {
			_, err = w.Write(text)
		}
		return err
	})
}

// recordFile answers with a record in one form, made whole before the first byte goes out.
func (p *pages) recordFile(w http.ResponseWriter, r *http.Request, suffix, kind string, write func(record.Record, io.Writer) error) error {
	boat, _, err := p.everBoat(r)
	if err != nil {
		return err
	}
	is, err := p.Records.Record(r.Context(), boat.Name)
	if err != nil {
		return fmt.Errorf("record of %s: %w", boat.Name, err)
	}
	var b bytes.Buffer
	if err := write(is, &b); err != nil {
		return fmt.Errorf("record of %s as %s: %w", boat.Name, suffix, err)
	}
	attached(w, boat.Name+" record"+suffix, kind)
	w.Header().Set("Content-Length", strconv.Itoa(b.Len()))
	if _, err := w.Write(b.Bytes()); err != nil {
		return errGone
	}
	return nil
}

// evidence streams the bundle: it may be larger than memory. One that breaks off has no
// end, and no program opens it.
func (p *pages) evidence(w http.ResponseWriter, r *http.Request) error {
	boat, _, err := p.everBoat(r)
	if err != nil {
		return err
	}
	out := &begun{w: w, name: boat.Name + " evidence.zip"}
	if err := p.Records.Evidence(r.Context(), boat.Name, out, p.paperOf(r)); err != nil {
		if !out.yes {
			return fmt.Errorf("evidence of %s: %w", boat.Name, err)
		}
		if r.Context().Err() == nil {
			p.Log.WithError(err).WithField("boat", boat.Name).Error("pages: an evidence bundle broke off")
		}
		panic(http.ErrAbortHandler) // so that what was sent does not look whole
	}
	return nil
}

// begun sets the headers with the first byte: until then a fault has a page of its own.
type begun struct {
	w    http.ResponseWriter
	name string
	yes  bool
}

func (b *begun) Write(text []byte) (int, error) {
	if !b.yes {
		b.yes = true
		attached(b.w, b.name, "application/zip")
	}
	return b.w.Write(text)
}

// attached has a browser keep what is sent under a name.
func attached(w http.ResponseWriter, name, kind string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
}
