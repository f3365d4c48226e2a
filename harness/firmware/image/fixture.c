/**
 * The fixture's image: works the terminals of a controller that knows nothing of the link.
 */
#include "../board/board.h"
#include "../link/link.h"

int main(void) {
  board_start(true);
  link_serve();
  return 0;
}
