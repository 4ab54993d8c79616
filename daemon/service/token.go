package service

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/google/renameio/v2"
)

// TokenFile is the file, in the state folder, with the token for POST
// /v1/readings when the yard file names none.
const TokenFile = "token"

// token is what posted readings must carry. One is made at the first start.
func (s *Service) token() (string, error) {
	path := s.within(s.opt.Yard.Bus.Token)
	if path == "" {
		path = filepath.Join(s.opt.State, TokenFile)
	}
	word, err := secretIn(path)
	switch {
	case err == nil && word == "":
		return "", fmt.Errorf("the token file %s is empty: put a long random word in it, or delete it", path)
	case err == nil:
		return strings.TrimSpace(word), nil
	case !errors.Is(err, fs.ErrNotExist) || s.opt.Yard.Bus.Token != "":
		return "", fmt.Errorf("the token for posted readings: %w", err)
	}
	fresh := rand.Text()
	// Whole or not at all: half of one, left by a crash, would stop the next start.
	if err := renameio.WriteFile(path, []byte(fresh+"\n"), 0o600); err != nil {
		return "", fmt.Errorf("the token for posted readings can't be kept: %w", err)
	}
	return fresh, nil
}
