"""The inspector: reads written files back and judges them; it never imports a writer."""
