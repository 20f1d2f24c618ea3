"""Results turned into things to look at: JSON, sentences, pictures, pages and sheets."""
