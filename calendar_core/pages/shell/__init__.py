"""What every page needs: the site, who asks, and how an answer is made."""
