package diagnose

import (
	"sync/atomic"

	"swardbook/diagnose/knowledge"
)

// Held is the knowledge that counts now, with the engine that weighs by it. It can be changed while others use it: whoever
// needs both takes them together with Now, and finishes with what it took.
type Held struct{ at atomic.Pointer[held] }

type held struct {
	know   *knowledge.Loaded
	engine *Engine
}

// Hold begins with k.
func Hold(k *knowledge.Loaded) (*Held, error) {
	h := &Held{}
	return h, h.Swap(k)
}

// Swap lets k count from now on. On an error nothing changes.
func (h *Held) Swap(k *knowledge.Loaded) error {
	engine, err := New(&k.Bundle)
	if err != nil {
		return err
	}
	engine.Edition = k.Edition
	h.at.Store(&held{k, engine})
	return nil
}

// Know is the knowledge that counts now. Callers do not change it.
func (h *Held) Know() *knowledge.Loaded { return h.at.Load().know }

// Engine weighs by the knowledge that counts now.
func (h *Held) Engine() *Engine { return h.at.Load().engine }

// Now is the knowledge that counts now and the engine made of it.
func (h *Held) Now() (*knowledge.Loaded, *Engine) {
	now := h.at.Load()
	return now.know, now.engine
}
