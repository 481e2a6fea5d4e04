/** The pages of review, loaded together on demand. */
export const SplicesPage = ({ query }: { query: string }) => (
  <main id="content" class="page">
    {query}
  </main>
)
export const SplicePage = ({ id }: { id: string }) => (
  <main id="content" class="page">
    {id}
  </main>
)
