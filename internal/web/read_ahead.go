package web

import "context"

// ReadAhead opens the book, as every page of the reference and the signs needs
// it, and reads what the desk reads ahead. Pages say the same without it.
func (s *Server) ReadAhead(ctx context.Context) error {
	if _, err := s.own(ctx); err != nil {
		return err
	}
	return s.Desk.ReadAhead(ctx)
}
