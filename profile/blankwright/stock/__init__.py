"""Stock: what steel lies there, where on it a knife goes, and how long a bar a forging begins with."""
