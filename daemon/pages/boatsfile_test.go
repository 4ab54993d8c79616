package pages

import (
	"bytes"
	"context"
	"html"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/config/file"
)

// upload sends a file as the browser does.
func upload(t *testing.T, f *fake, name string, text []byte) (*http.Response, string) {
	t.Helper()
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	part, err := form.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := part.Write(text); err != nil {
		t.Fatal(err)
	}
	if err := form.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/boats/import", &body)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return do(t, handlerOf(t, f), r)
}

// A file's boats are shown with all that would change before anything does.
func TestBoatsFromAFile(t *testing.T) {
	for _, format := range []string{"yaml", "csv"} {
		t.Run(format, func(t *testing.T) {
			f, s := bookFake()
			answer, body := get(t, f, "/boats/file/boats."+format)
			if answer.StatusCode != http.StatusOK || !strings.Contains(answer.Header.Get("Content-Disposition"), "boats."+format) {
				t.Fatalf("status %d", answer.StatusCode)
			}
			boats, mistakes := file.Boats("boats."+format, []byte(body))
			if mistakes.Err() != nil || len(boats) != 3 {
				t.Fatalf("%d boats, %v", len(boats), mistakes)
			}
			boats[1].Promised = "2026-04-19" // by name: Kestrel
			changed := boats[1].Name
			fresh := boats[2]
			fresh.Name = "Wigeon"
			text, err := file.WriteBoats(format, append(boats, fresh))
			if err != nil {
				t.Fatal(err)
			}
			answer, body = upload(t, f, "spring."+format, text)
			if answer.StatusCode != http.StatusOK || len(s.boats["Wigeon"]) != 0 || len(s.boats[changed]) != 1 {
				t.Fatalf("only to look: status %d, kept %d", answer.StatusCode, len(s.boats[changed]))
			}
			has(t, body, "Wigeon is added", "Wigeon", "is changed", "2026-04-19", "As it is already", "stay as they are",
				"By this file 1 boat is added and 1 boat is changed.", `<details class="fold"><summary><span>Wigeon is added`, `<details class="fold" open><summary><span><b>`+html.EscapeString(changed)+"</b> is changed", "Take these 2 in")
			form := fieldsOf(t, body)
			answer, body = post(t, f, "/boats/import", form)
			if answer.StatusCode != http.StatusUnprocessableEntity {
				t.Fatalf("nobody's name: status %d", answer.StatusCode)
			}
			has(t, body, "Write who brings them in")
			form = fieldsOf(t, body)
			form.Set("by", "Rui")
			for range 2 {
				if answer, body = post(t, f, "/boats/import", form); answer.StatusCode != http.StatusSeeOther && !strings.Contains(body, "changed a boat meanwhile") {
					t.Fatalf("status %d: %s", answer.StatusCode, body)
				}
			}
			if len(s.boats["Wigeon"]) != 1 || len(s.boats[changed]) != 2 || s.boats[changed][0].Of.Promised != "2026-04-19" {
				t.Errorf("kept %d and %+v", len(s.boats["Wigeon"]), s.boats[changed][0])
			}
		})
	}
}

// What somebody changed after the preview is not written over.
func TestAFileOvertaken(t *testing.T) {
	f, s := bookFake()
	b := s.boats["Kestrel"][0].Of
	b.Owner = "of the file"
	text, err := file.WriteBoats(file.YAML, []config.Boat{b})
	if err != nil {
		t.Fatal(err)
	}
	_, body := upload(t, f, "boats.yaml", text)
	form := fieldsOf(t, body)
	form.Set("by", "Rui")
	other := s.boats["Kestrel"][0].Of
	other.Promised = "2026-04-30"
	if err := s.EditBoats(context.Background(), []config.Edit[config.Boat]{{To: other, From: 1, By: "Ana"}}); err != nil {
		t.Fatal(err)
	}
	answer, body := post(t, f, "/boats/import", form)
	if answer.StatusCode != http.StatusConflict || len(s.boats["Kestrel"]) != 2 {
		t.Fatalf("status %d, %d versions", answer.StatusCode, len(s.boats["Kestrel"]))
	}
	has(t, body, "changed a boat meanwhile", "2026-04-30")
}

func TestAFileWithMistakes(t *testing.T) {
	f, s := bookFake()
	answer, body := upload(t, f, "boats.csv", []byte("boat,length,beam,arrives,promised,area,system,size\nWigeon,18,5 m,2026-04-01,2026-05-01,deck,topsides gloss,30 m2\n"))
	if answer.StatusCode != http.StatusUnprocessableEntity || len(s.boats["Wigeon"]) != 0 {
		t.Fatalf("status %d", answer.StatusCode)
	}
	has(t, body, "boats.csv:2:8: &#34;18&#34; has no unit", "nothing was taken in", "Wigeon,18,5 m")
	if answer, body = post(t, f, "/boats/import", url.Values{}); answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("no file: status %d", answer.StatusCode)
	}
	has(t, body, "Choose a file first")
	if answer, body = upload(t, f, "boats.yaml", bytes.Repeat([]byte("#"), 3<<20)); answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Errorf("3 MB: status %d", answer.StatusCode)
	}
	has(t, body, "more than 1 MB")
}
