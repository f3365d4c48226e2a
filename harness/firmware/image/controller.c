/**
 * The controller's image: the pacing core behind the link.
 */
#include "../board/board.h"
#include "../link/link.h"

int main(void) {
  board_start(false);
  link_serve();
  return 0;
}
