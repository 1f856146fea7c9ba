"""Everything people read: tables, sentences, documents."""
