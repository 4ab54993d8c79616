package pages

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"fairwindow/config"
)

// importView is a file of boats, and what it would change.
type importView struct {
	Name, Text string // the file as it came
	Mistakes   []string
	Bad        bool
	Fault      string
	Boats      []importBoat
	Same       []string
	Once       string
	By         byField
	Formats    []link
}

type importBoat struct {
	Name, What      string
	New             bool // all of it is new, so nobody has to read every line
	Rows            []differRow
	Field, Revision string
}

// fileLimit bounds a file of boats; a full yard's has a tenth of it.
const fileLimit = 1 << 20

// boatsFile hands out all boats as a file.
func (p *pages) boatsFile(w http.ResponseWriter, r *http.Request) error {
	kind, known := map[string][2]string{"boats.yaml": {"yaml", "application/yaml"}, "boats.csv": {"csv", "text/csv; charset=utf-8"}}[r.PathValue("file")]
	if !known {
		return missing("Boats come as boats.yaml and as boats.csv.")
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return fmt.Errorf("boats: %w", err)
	}
	text, err := p.Files.WriteBoats(kind[0], boats)
	if err != nil {
		return err
	}
	return handOut(w, r.PathValue("file"), kind[1], text)
}

func handOut(w http.ResponseWriter, name, kind string, text []byte) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", "attachment; filename="+strconv.Quote(name))
	if _, err := w.Write(text); err != nil {
		return errGone
	}
	return nil
}

func (p *pages) importForm(w http.ResponseWriter, r *http.Request) error {
	return p.showImport(w, r, http.StatusOK, importView{})
}

func (p *pages) showImport(w http.ResponseWriter, r *http.Request, status int, v importView) error {
	v.Formats = []link{{"YAML", "/boats/file/boats.yaml"}, {"CSV", "/boats/file/boats.csv"}}
	v.By.Label = "Who"
	if v.By.Name == "" {
		v.By.Name = rememberedName(r)
	}
	if v.Once == "" {
		v.Once = newOnce()
	}
	return p.showBook(w, r, "Boats from a file", status, bookView{Import: &v})
}

// importBoats shows what a file would change, and changes it when that was seen.
func (p *pages) importBoats(w http.ResponseWriter, r *http.Request) error {
	v, err := readUpload(r)
	if err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return p.showImport(w, r, http.StatusRequestEntityTooLarge, importView{Fault: "A file of more than 1 MB is not read here. Send it in parts."})
		}
		return p.badForm(w, r, err)
	}
	v.By.Name = p.by(r)
	if v.Text == "" {
		v.Fault = "Choose a file first, or paste its text."
		return p.showImport(w, r, http.StatusUnprocessableEntity, v)
	}
	var boats []config.Boat
	var good bool
	boats, v.Mistakes, good = p.Files.ReadBoats(p.Plans.Yard(), v.Name, []byte(v.Text))
	if v.Bad = !good; v.Bad {
		return p.showImport(w, r, http.StatusUnprocessableEntity, v)
	}
	d, err := p.boatDesk(r.Context())
	if err != nil {
		return err
	}
	var edits []config.Edit[config.Boat]
	seen := true // this preview, as it is now
	for _, b := range boats {
		stands, there, err := d.stands(r.Context(), b.Name)
		if err != nil {
			return err
		}
		one := importBoat{Name: b.Name, What: "is changed", Field: revisionField(b.Name)}
		var was config.Boat
		if there {
			was, one.Revision = stands.Of, strconv.FormatInt(stands.Revision, 10)
		} else {
			one.What, one.Revision, one.New = "is added", "0", true
		}
		if stands.Removed {
			one.What, one.New = "was taken out and comes back", false
		}
		one.Rows = rowsOfDiffers(d.differences(was, b))
		if there && len(one.Rows) == 0 {
			v.Same = append(v.Same, b.Name)
			continue
		}
		v.Boats = append(v.Boats, one)
		seen = seen && r.PostForm.Get(one.Field) == one.Revision
		edits = append(edits, config.Edit[config.Boat]{To: b, From: revision(one.Revision), By: v.By.Name, Once: v.Once + "/" + b.Name})
	}
	if r.PostForm.Get("take") == "" {
		return p.showImport(w, r, http.StatusOK, v)
	}
	switch {
	case v.By.Name == "":
		v.By.Fault = "Write who brings them in: each boat's history names a person."
		return p.showImport(w, r, http.StatusUnprocessableEntity, v)
	case !seen:
		v.Fault = "Somebody changed a boat meanwhile, and nothing was kept. This is what the file would change now."
		return p.showImport(w, r, http.StatusConflict, v)
	}
	if err := p.Book.EditBoats(r.Context(), edits); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("boats from %s: %w", v.Name, err)
		}
		v.Fault = sentence
		return p.showImport(w, r, http.StatusConflict, v)
	}
	rememberName(w, v.By.Name)
	http.Redirect(w, r, "/boats?said=boats", http.StatusSeeOther)
	return nil
}

// Sum says how much a file would change.
func (v importView) Sum() string {
	added := 0
	for _, b := range v.Boats {
		if b.New {
			added++
		}
	}
	var parts []string
	if added > 0 {
		parts = append(parts, howMany(added, "boat is added", "boats are added"))
	}
	if changed := len(v.Boats) - added; changed > 0 {
		parts = append(parts, howMany(changed, "boat is changed", "boats are changed"))
	}
	if len(parts) == 0 {
		return "Nothing would change."
	}
	return "By this file " + strings.Join(parts, " and ") + "."
}

// readUpload is the file that was chosen, or the text that was pasted or shown before.
func readUpload(r *http.Request) (importView, error) {
	if err := r.ParseMultipartForm(fileLimit); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return importView{}, err
	}
	if err := r.ParseForm(); err != nil {
		return importView{}, err
	}
	v := importView{Name: r.PostForm.Get("name"), Text: r.PostForm.Get("text"), Once: r.PostForm.Get("once")}
	file, head, err := r.FormFile("file")
	if err == nil {
		defer file.Close()
		text, err := io.ReadAll(io.LimitReader(file, fileLimit))
		if err != nil {
			return v, err
		}
		if len(text) > 0 {
			v.Name, v.Text = head.Filename, string(text)
		}
	}
	if v.Name == "" {
		v.Name = "boats.yaml"
	}
	return v, nil
}
