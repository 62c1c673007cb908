"""The wire: JSON text into frozen values, frozen values into JSON. Shape only; what a value means is judged elsewhere."""
