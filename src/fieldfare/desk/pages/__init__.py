"""The pages: a route, a typed context and a template each."""
