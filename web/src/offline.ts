// An exported page: what it carries, then the board's own page.
import './inside';
import './main';
