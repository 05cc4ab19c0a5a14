package web

import (
	"crypto/rand"
	"encoding/hex"
	"sync"
)

// keptList is an uploaded packing list while its columns are being settled.
type keptList struct {
	name string
	data []byte
}

// lists keeps a few uploaded lists in memory between two steps of a form, so
// that changing a column's meaning needs no second upload. Losing one costs an
// upload and nothing else.
type lists struct {
	mu    sync.Mutex
	kept  map[string]keptList
	order []string
}

// mostLists bounds how many are kept, and with the size of an upload the memory
// they take.
const mostLists = 8

func (l *lists) put(k keptList) string {
	var b [16]byte
	_, _ = rand.Read(b[:]) // never fails
	token := hex.EncodeToString(b[:])
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.kept == nil {
		l.kept = map[string]keptList{}
	}
	l.kept[token] = k
	l.order = append(l.order, token)
	if len(l.order) > mostLists {
		delete(l.kept, l.order[0])
		l.order = l.order[1:]
	}
	return token
}

func (l *lists) get(token string) (keptList, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	k, ok := l.kept[token]
	return k, ok
}
